// Package api keeps the contract: HTTP in, logbook calls, HTTP out.
//
// Reading the source: server.go puts the service together; contract.go stands
// before every operation and asks who calls, whether that may be, and whether
// the request is as the contract says; then one file a noun (productions.go,
// records.go, setup.go, settle.go, exchange.go, color.go, still.go, colorlog.go,
// devices.go) answers. What a book alone answers goes through result.go.
//
// Who may come in is asked of api/pairing; problem.go is the one table from errors
// to statuses.
package api
