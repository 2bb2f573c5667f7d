package colorimetry

import "fmt"

// WeightedLight is a light with how much its colour cast counts.
type WeightedLight struct {
	Light  CCTDuv
	Weight float64
}

// Compromise returns the white that leaves the least casts: where the sum of weight
// times squared cast over the lights is least, in mired and in Duv alike. That is
// the weighted mean of the mireds and of the Duvs, whatever a mired counts against
// a Duv. Domain: at least one light, checked, with a weight above 0 and finite
// together; and a mean in the domain of CCTDuv; else ErrDomain.
func Compromise(lights []WeightedLight) (CCTDuv, error) {
	var mired, duv, sum float64
	for i, l := range lights {
		if err := l.Light.Check(); err != nil {
			return CCTDuv{}, fmt.Errorf("light %d of %d in the compromise: %w", i+1, len(lights), err)
		}
		if !(l.Weight > 0) || !finite(l.Weight) {
			return CCTDuv{}, domainError(fmt.Sprintf("weight of light %d in the compromise", i+1), l.Weight, "above 0")
		}
		// A running mean: weights may be of any size.
		sum += l.Weight
		share := l.Weight / sum
		mired += share * (float64(l.Light.Mired()) - mired)
		duv += share * (float64(l.Light.Duv) - duv)
	}
	if !(sum > 0) || !finite(sum) {
		return CCTDuv{}, domainError("sum of the weights in the compromise", sum, "above 0, and not infinite")
	}
	k, err := Mired(mired).Kelvin()
	if err != nil {
		return CCTDuv{}, err
	}
	white := CCTDuv{k, Duv(duv)}
	return white, white.Check()
}
