// Package colorlog makes the document that goes to post with the footage: the
// colour log of a production, a day or a set-up.
//
// It has one row per clip and take that the clip contains; a clip with no take is
// one row. A row says where to find it, what was set, what was meant, what was there, what it
// gives, what is off and how to correct it. Rows assembles them
// from a book; NewCSV and NewJSON encode them one at a time, so that memory
// does not grow with the production. The same book and origin give the same bytes.
//
// Reading the source: row.go is the row, document.go what stands around the rows,
// schema.go and color-log.schema.json the published form; rows.go and the files
// named after a part of the row assemble it; columns.go and the files of its groups are the columns of
// the forms for tables; csv.go, csvw.go and json.go write it, write.go in several forms at once.
package colorlog
