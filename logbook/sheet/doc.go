// Package sheet writes a workbook of typed cells (Office Open XML, ECMA-376) with archive/zip alone,
// one row after another, so that memory does not grow with the rows.
//
// It knows text, numbers, dates, and yes or no; each sheet has a bold first row that stays in sight,
// as many first columns that stay as are asked for, and filters. Text is never taken for a
// number, a date or a formula. The same calls give the same bytes.
package sheet
