package setup

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// castOfValue reads an intended cast; one that has only a name is looked up among
// the production's.
func castOfValue(b *logbook.Book, v logbook.Value, from string) figure.IntendedCast {
	c := figure.IntendedCast{From: from}
	c.Name, _ = v.Member("name").Text()
	if v.Member("mired") == "" && v.Member("duv") == "" && c.Name != "" {
		if p, ok := lighting.ProductionOf(b); ok {
			for _, key := range p.Keys("intendedCasts") {
				named := p.Value("intendedCasts/" + key)
				if name, _ := named.Member("name").Text(); name == c.Name || key == c.Name {
					v = named
					break
				}
			}
		}
	}
	c.Mired, _ = v.Member("mired").Float()
	c.Duv, _ = v.Member("duv").Float()
	return c
}

// intendedCast is the cast that a camera is meant to give the reference light: its
// own exception, else the white's, else the scene's, else none. The zero camera
// asks for the white's.
func intendedCast(b *logbook.Book, white logbook.View, camera logbook.ID) figure.IntendedCast {
	if !camera.IsZero() {
		for _, key := range white.Keys("exceptions") {
			if id, err := logbook.ParseID(key); err == nil && b.Resolve(id) == camera {
				return castOfValue(b, white.Value("exceptions/"+key), "exception")
			}
		}
	}
	if v := white.Value("intendedCast"); v != "" {
		return castOfValue(b, v, "white")
	}
	if setUp, ok := b.RecordOf(kinds.SetUp, white.Ref("setUp")); ok {
		if scene, ok := b.RecordOf(kinds.Scene, setUp.Ref("scene")); ok {
			if v := scene.Value("intendedCast"); v != "" {
				return castOfValue(b, v, "scene")
			}
		}
	}
	return figure.IntendedCast{From: "none"}
}

// An Aim is the white that a camera should have.
type Aim struct {
	Camera       logbook.ID
	IntendedCast figure.IntendedCast
	Aim          *figure.Chromaticity
	Problem      string // why there is no aim
}

// AimFor takes the intended cast off the reference. A white that is not
// resolved, and a reference that is coloured, have no aim.
func AimFor(b *logbook.Book, white White, camera logbook.ID) Aim {
	record, _ := b.RecordOf(kinds.White, white.White)
	cast := figure.IntendedCast{From: "none"}
	if record.Known() {
		cast = intendedCast(b, record, camera)
	}
	return aimWith(white, cast, camera)
}

func aimWith(white White, cast figure.IntendedCast, camera logbook.ID) Aim {
	a := Aim{Camera: camera, IntendedCast: cast}
	if white.Color == nil {
		a.Problem = "the white is not known: " + white.Problem
		return a
	}
	reference, err := white.Color.CCTDuv()
	if err != nil {
		a.Problem = "the white is coloured and has no CCT"
		return a
	}
	aim, err := colorimetry.Aim(reference, a.IntendedCast.Cast())
	if err == nil {
		var xy colorimetry.XY
		if xy, err = aim.XY(); err == nil {
			a.Aim = figure.ChromaticityOf(xy)
			return a
		}
	}
	a.Problem = fmt.Sprintf("a cast of %+g mired and %+g Duv on %s leads nowhere: %v",
		a.IntendedCast.Mired, a.IntendedCast.Duv, white.Color.Words, err)
	return a
}

// WantedWhite is the white that cameras without an exception aim at: the picture
// in it is what the cinematographer asked for.
func (s *SetUp) WantedWhite(p *Period) colorimetry.XY {
	if aim := s.Aim(p, logbook.ID{}); aim.Aim != nil {
		return aim.Aim.XY
	}
	return p.Reference.XY
}
