// Package seal writes a small secret into a file that only a passphrase opens, in the format
// of age (https://age-encryption.org/v1), so that age itself opens it as well.
package seal
