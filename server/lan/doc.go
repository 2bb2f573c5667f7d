// Package lan is what this machine is on the network of a set: the one origin under which
// browsers know it, and the private addresses that it has there.
//
// A browser keeps data per origin: scheme, name and port. An address that changes under
// the same name changes nothing for it; another name or port hides all that a phone has
// not sent yet. So the origin is settled once and kept with the data.
package lan
