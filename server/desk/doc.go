// Package desk is the page that a browser on a computer is shown: at the machine itself what
// its owner wants to see and do, elsewhere, and to whoever is not known, how to come in and
// an invented production to look at.
//
// Being at the machine is the root of trust, but a port of it is open to everybody who uses
// the machine, and a browser there shows pages of other sites. So the owner's page is opened by
// a ticket, which a terminal prints: it is good once, stands behind the # of an address, which
// is never sent, and buys a seat. The seat lies in the storage of that tab alone, which no other
// port of this machine can read (cookies have no port), and goes with every request as a header,
// which no other site's page can send.
package desk
