//go:build !js

// Logs for measuring lie in bbolt files, which phones have none of.

package logbook_test

import (
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
)

// A push of a few kilobytes in rows that names 128,000 versions of one field, which has 20,000
// heads: 20,000 edits that had not seen each other, of a hundred devices' starts.
func BenchmarkGrowthWidePush(b *testing.B) {
	const starts, each, names = 100, 200, 256
	growth.Each(b, func(b *testing.B, size growth.Size) {
		l := growth.Log(b, size)
		first := growth.NextLine()
		note := logbook.ID{0: 9, 6: 0x70, 8: 0x80}
		copy(note[9:], first[1:]) // another record in each run
		edit := func(line logbook.Line, n uint64, over []logbook.Dot) *logbook.Edit {
			return &logbook.Edit{
				Production: growth.Production, Kind: kinds.Note, Record: note, Device: logbook.ID{15: 1}, Dot: logbook.Dot{Line: line, N: n},
				At: 1_940_000_000_000, Set: []logbook.Change{{Field: "text", Value: logbook.TextValue("seen"), Over: over}},
			}
		}
		push := func(edits []*logbook.Edit) {
			if _, err := l.Push(edits, edits[0].Device, edits[0].At); err != nil {
				b.Fatal(err)
			}
		}
		var heads []logbook.Dot
		for range starts {
			line := growth.NextLine()
			var edits []*logbook.Edit
			for n := uint64(1); n <= each; n++ {
				e := edit(line, n, nil)
				edits, heads = append(edits, e), append(heads, e.Dot)
			}
			push(edits)
		}
		line := growth.NextLine()
		var edits []*logbook.Edit
		for n := range uint64(500) {
			at := int(n) * 39
			edits = append(edits, edit(line, n+1, heads[at:at+names]))
		}
		start := time.Now()
		push(edits)
		growth.Report(b, size, "wide_push_ms", growth.Milliseconds(time.Since(start)))
	})
}

// What a device brings in falling order, with a gap before each: 100,000 of them.
func BenchmarkGrowthGaps(b *testing.B) {
	growth.Each(b, func(b *testing.B, size growth.Size) {
		ranges, err := growth.Log(b, size).Ranges()
		if err != nil {
			b.Fatal(err)
		}
		line := growth.NextLine()
		growth.Times(b, size, "gaps_ms", 5, func(int) {
			held := logbook.HeldOf(ranges)
			for n := uint64(200_000); n > 0; n -= 2 {
				held.Add(logbook.Dot{Line: line, N: n})
			}
		})
	})
}
