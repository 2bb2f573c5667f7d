// Package lantest makes small networks for tests: two hosts in network namespaces of their
// own, joined by cables, with what a standard system has to find names. Nothing outlives
// the test that made it, even one that is killed, and no packet leaves it.
package lantest
