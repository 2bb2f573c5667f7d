// Package quota bounds what one caller, and all together, may hold of the server at
// once: requests, connections, and bytes of bodies. Who is over a bound is told to come
// again (ErrBusy), so that nobody else waits for them.
//
// budget.go counts, body.go reads a body as far as there is room for it, listener.go
// counts connections.
package quota
