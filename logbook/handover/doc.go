// Package handover writes the colour log in the forms that post takes: for each its name, its kind
// of bytes, and who writes it. The same state of the log, scope and program give the same bytes.
//
// Reading the source: form.go is the table of forms; the other files make one form each. CSV and JSON
// themselves stand in colorlog.
package handover
