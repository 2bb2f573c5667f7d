package colorimetry

// CCReadout says what the CC number on a meter describes. The two mean opposite
// signs, and meters do not say which they show: it has to be asked and stored.
type CCReadout int

const (
	// LightIs: CC 5 green says that the light is green.
	LightIs CCReadout = iota
	// FilterNeeded: CC 5 green says that the light is magenta and that a filter
	// of CC 5 green would help.
	FilterNeeded
)

// Duv returns the Duv of a light that a meter shows with a CC number (green +,
// magenta −). Domain: that of CCToDuv, and a known read-out; else ErrDomain.
func (r CCReadout) Duv(cc float64, cct Kelvin) (Duv, error) {
	duv, err := CCToDuv(cc, CCTDuv{CCT: cct})
	switch {
	case err != nil:
		return 0, err
	case r == LightIs:
		return duv, nil
	case r == FilterNeeded:
		return -duv, nil
	}
	return 0, domainError("CC read-out", float64(r), "0 (the light is) or 1 (the filter needed is)")
}
