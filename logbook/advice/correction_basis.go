package advice

import "evenwhite/logbook/cameras"

// ofCard says whether the card is in the clip itself.
func (c *correcting) ofCard(inClip bool) {
	if c.out.BasisWords = cameras.CardInClip; !inClip {
		c.out.BasisWords = cameras.CardOnSetting
		c.caveat("the card is of another shot on the same setting")
	}
}

func (c *correcting) spread(mired, duv float64) { c.out.SpreadMired, c.out.SpreadDuv = &mired, &duv }
