package setup

import (
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// Aims that lie no farther apart than this cannot be told apart: less than any camera is
// set by, and than one meter repeats itself. A choice of this program.
const (
	alikeMired = 2
	alikeDuv   = 0.0005
)

// ToldApart reports whether it makes a difference which of two whites is meant: the aim of
// some camera, or the cast that it is meant to have, is another. A white without a colour
// can be told apart from every other.
func ToldApart(b *logbook.Book, one, other White) bool {
	if one.White == other.White {
		return false
	}
	ids := []logbook.ID{{}} // a camera without an exception
	for _, camera := range b.Records(kinds.Camera) {
		ids = append(ids, camera.ID)
	}
	for _, camera := range ids {
		if aimsApart(AimFor(b, one, camera), AimFor(b, other, camera)) {
			return true
		}
	}
	return false
}

func aimsApart(one, other Aim) bool {
	if one.IntendedCast.Cast() != other.IntendedCast.Cast() || one.Aim == nil || other.Aim == nil {
		return true
	}
	a, err := one.Aim.CCTDuv()
	if err != nil {
		return true
	}
	b, err := other.Aim.CCTDuv()
	if err != nil {
		return true
	}
	var d figure.Difference
	d.SetCast(colorimetry.CastOf(a, b))
	return math.Abs(*d.Mired) > alikeMired || math.Abs(*d.Duv) > alikeDuv
}

// Alike reports whether two records are whites that cannot be told apart.
func (s *SetUp) Alike(one, other logbook.ID) bool {
	if one == other {
		return true
	}
	pair := [2]logbook.ID{one, other}
	alike, ok := s.alike[pair]
	if !ok {
		a, found := s.book.RecordOf(kinds.White, one)
		b, too := s.book.RecordOf(kinds.White, other)
		alike = found && too && !ToldApart(s.book, s.colour(a), s.colour(b))
		s.alike[pair] = alike
	}
	return alike
}
