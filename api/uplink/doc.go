// Package uplink keeps this server in exchange with others that it is a device of.
//
// A link is made with a code from the other server, like the pairing of a phone: link.go joins and
// keeps it. trust.go says whose certificate counts, caller.go asks under the link's key and token,
// follow.go exchanges one production whenever there is something new on either side or a minute
// has passed, uplinks.go holds all links of this server and says how each stands.
//
// A link knows no more than a phone does: edits keep their authors, and each server admits and
// revokes its own devices.
package uplink
