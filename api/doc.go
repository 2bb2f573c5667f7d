// Package api keeps the contract: HTTP in, calls of the rooms below, HTTP out.
//
// Reading the source: server.go puts the service together; contract.go stands before every
// operation and asks who calls, whether that may be, and whether the request is as the
// contract says; manners.go holds for every request. Then one file a noun answers
// (productions.go, records.go, setup.go, settle.go, exchange.go, still.go, colorlog.go,
// devices.go). What a book alone answers goes through result.go.
//
// Who may come in is asked of api/pairing; problem.go is the one table from errors
// to statuses.
package api
