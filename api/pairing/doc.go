// Package pairing says who may come in: it invites and admits devices, gives them
// tokens, and knows at each request which of them still stand and in which role. It
// knows nothing of HTTP; api asks it before every operation.
//
// A device comes in with an invitation (pairing.go; limit.go counts the tries). It shows
// its key, and gets an id and a token: a JWT signed with a key of this server, bound to
// that of the device and good for a day's work (token.go). Each request shows the token
// and a proof by the key (caller.go, and the room proof); a proof alone gets the next
// token. A device that was paired before there were keys has a secret in place of one until
// it enrols one; a script has a token that ends by itself (script.go). A token says only
// which device calls; what it may do is looked up at each request, by roles in productions
// or everywhere (role.go), so that a revoked device is out at once (device.go). claim.go
// is for phones that outlived their server, sighting.go says how devices do. auth.go puts
// it together and keeps devices and key in the store; invitations are in memory only.
// errors.go holds what can be refused; api maps each to its problem.
package pairing
