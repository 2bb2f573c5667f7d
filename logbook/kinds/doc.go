// Package kinds is the table of record kinds and of what may stand in their fields.
//
// Specs has a row for each kind, and each row one for each field: type, unit, range, whether
// it is required, whether it is a fact that is never overwritten. The contract, the judge and
// a phone's forms are made of it. Rules judges an edit by it from its own bytes alone, so
// that every copy comes to the same verdict. Kinds and fields that it does not know are valid:
// they are a later version's. Fields are added, never renamed.
package kinds
