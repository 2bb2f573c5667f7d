// Package pairing says who may come in: it invites and admits devices, gives them
// tokens, and knows at each request which of them still stand and in which role. It
// knows nothing of HTTP; api asks it before every operation.
//
// A device comes in with the code of an invitation (pairing.go; limit.go counts the
// tries). It gets an id, a secret and a token: a JWT signed with a key of this server
// (token.go), good for a day's work, renewed with the token or the secret. A token
// says only which device calls; what it may do is looked up at each request, by roles
// in productions or everywhere (role.go), so that a revoked device is out at once
// (device.go). auth.go puts it together and keeps devices and key in the store;
// invitations are in memory only. errors.go holds what can be refused; api maps
// each to its problem.
package pairing
