// Package removal takes a production off this server: its files are written and read back,
// and only then it goes, in one commit that leaves a mark.
//
// removal.go is the order of the steps, files.go writes and reads back, mark.go is what
// stays on the server.
package removal
