package colorimetry

// Cast is a colour cast as it shows in the picture: Mired + is warmer, Duv + is
// greener.
type Cast struct {
	Mired Mired
	Duv   Duv
}

// CastOf returns the colour cast of a light in the picture of a camera with the
// given white (the light that it would render neutral). Both must be checked.
func CastOf(light, white CCTDuv) Cast {
	return Cast{light.Mired() - white.Mired(), light.Duv - white.Duv}
}

// Aim returns the white that a camera needs so that the reference light takes on
// the intended cast. The cast is taken off: a camera on a white that is cooler
// than the light, by kelvin lower, makes the picture cooler. Domain: the result
// must pass CCTDuv.Check, else ErrDomain.
func Aim(reference CCTDuv, intended Cast) (CCTDuv, error) {
	if err := reference.Check(); err != nil {
		return CCTDuv{}, err
	}
	k, err := (reference.Mired() - intended.Mired).Kelvin()
	if err != nil {
		return CCTDuv{}, err
	}
	aim := CCTDuv{k, reference.Duv - intended.Duv}
	return aim, aim.Check()
}

// PictureDifference returns how B's picture differs from A's under one light,
// given the whites of the two cameras. The whites stand in reverse order: a
// higher white by mired makes a cooler picture. Both must be checked.
func PictureDifference(whiteB, whiteA CCTDuv) Cast { return CastOf(whiteA, whiteB) }
