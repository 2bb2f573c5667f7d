// Package page writes the pages that a person reads in a browser: what this server is and
// how it is, and the contract. They need no script, load nothing, and are black, white
// and grey.
package page
