// Package demo is an invented production of four days, logged by three phones. It is
// made of the same edits that phones push, with fixed ids and lines, and laid on the days
// before it is filled (calendar.go). Filled at one moment it gives the same log each time, so
// that its colour log can be compared byte for byte.
//
// What happens is data: day0.jsonl, the prep, then day1.jsonl to day4.jsonl. A line is one of
//
//	{"note": words}                  words for who reads the file
//	{"date": date}                   the local date of the lines that follow
//	{"phone": name, behindMs}        a phone, and how far its clock runs behind the server's
//	{"meet": [phone, …], at}         they push, in this order, then see the others' edits
//	{by, at, "make": name, fields}   a phone makes a record
//	{by, at, "change": name, fields} it changes one, over the values that it has seen
//
// A name is a record's kind and a word, as in camera/a; #camera/a within a line stands for
// the record's id. Fields are those of edits: numbers stay as they are typed. at is a local
// time of day, hh:mm:ss, by the server's clock. Dates, times and the zone UTC+1 are those of
// the days for which it was written; when it is filled, they move together, and the clock on
// the set stays.
//
// A phone replaces only what it has seen: apart from the others it makes conflicts and
// twins as real phones do.
package demo
