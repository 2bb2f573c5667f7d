//go:build !js

package logbook

import "crypto/sha256"

// Sum is SHA-256.
func Sum(text []byte) [32]byte { return sha256.Sum256(text) }
