// Package openapi is the contract of the service: openapi.yaml, written first and
// by hand, and the Go that is generated from it.
//
// The schemas of the records and of the results stand in the contract between
// two marks and are written by schemas.go from the table of record kinds and
// from the types of the results, so that the three cannot differ. The folders that
// hold those types are listed in schemas_result.go.
//
// Clients are given Served: the same contract, with the operations on records written
// out for each kind.
package openapi

import (
	_ "embed"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"

	"evenwhite/logbook"
)

//go:generate go run schemas.go schemas_record.go schemas_result.go
//go:generate go tool oapi-codegen -config generate.yaml openapi.yaml

// source is the contract as it is written; see Served for what clients are given.
//
//go:embed openapi.yaml
var source []byte

// The library's own form of a UUID ends at version 5.
func init() {
	openapi3.DefineStringFormatValidator("uuid", openapi3.NewCallbackValidator(func(text string) error {
		_, err := logbook.ParseID(text)
		return err
	}))
}

// Load reads the contract and checks that it is a valid document, once: all callers share
// it, and none may change it. It names no servers, because requests are held to it
// wherever they came in.
var Load = sync.OnceValues(func() (*openapi3.T, error) {
	loader := openapi3.NewLoader()
	document, err := loader.LoadFromData(source)
	if err != nil {
		return nil, err
	}
	if err := document.Validate(loader.Context); err != nil {
		return nil, err
	}
	document.Servers = nil
	return document, nil
})
