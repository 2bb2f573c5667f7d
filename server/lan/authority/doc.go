// Package authority is the certificate authority of one server: phones trust its root
// once, and then the server under its name, whatever address it has.
//
// Three certificates: the root signs the issuing one and its key is never kept; the issuing one, whose
// key is the secret, signs the leaf; the leaf lives in memory alone, so that no full disk
// keeps it from being renewed. Root and issuing certificate carry, as critical, the one DNS
// name and the private addresses for which they hold: whoever gets the key can act as
// this server on its own network, and as nobody else anywhere.
package authority
