// Package zone tells the local time of a place by a table inside the program: the same on every
// machine, whatever its own table says.
//
// The table is lib/time/zoneinfo.zip of the Go toolchain, which is made from the time zone database of
// IANA (public domain). A newer one is copied over it when the program moves to a newer toolchain.
package zone
