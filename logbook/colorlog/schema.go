package colorlog

import _ "embed"

// SchemaText is the JSON Schema (draft 2020-12) of the document, as published
// under the name Schema. The format is specified there; the types here follow.
//
//go:embed color-log.schema.json
var SchemaText []byte
