// Package trust serves in plain HTTP, by this machine's addresses, what a phone needs before it
// can trust the server: the root certificate in the forms that systems take, the steps for
// each, the fingerprint to compare, and checks that the phone itself makes. Nothing else of the
// server can be had there.
package trust
