// Package link lets a guest who is no device fetch one export: an owner makes a link for it,
// which ends by itself, is counted, and can be taken back. Its secret stands behind the # of an
// address, which no browser sends, and is kept as a hash.
package link
