// Package proof makes and checks what shows that a request was made by the holder of a key: one
// DPoP proof (RFC 9449), a JWT that the device signs for each request.
//
// make.go makes one, for a server that is itself a device of another. key.go reads the public
// key and names it by its thumbprint (RFC 7638). proof.go compares what a proof says with the
// request that it came with. nonce.go hands out the value that makes a proof fresh, and
// remembers which proofs were shown: a phone's clock is wrong on many a set, so that no time in
// a proof is judged. It knows no device and no token.
package proof
