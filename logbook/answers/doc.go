// Package answers writes answers as JSON, byte for byte as encoding/json does, by tables that are
// generated from the types of the answers. A phone answers by them, and the service
// where it answers the same; what is not listed, the service leaves to encoding/json.
//
// generate.go lists the answers; what they hold follows. It writes answers.gen.go here and
// logbook/handset/answers.gen.go for the types of that room: of each struct, list and map what lies
// in it and where. A type that cannot be written is told by its field.
//
// Functions that write each type would be the plainer way: they made the engine of a phone some 8 kB
// larger as it is sent (server/phone/engine/SIZE.md).
package answers

//go:generate go run generate.go
