package advice

// What a correction rests on, in words, the surest first.
const (
	CardInClip     = "card in the clip"
	CardOnSetting  = "card on this setting"
	CardsElsewhere = "cards elsewhere"
	FromLabel      = "label"
)

// ofCard says whether the card is in the clip itself.
func (c *correcting) ofCard(inClip bool) {
	if c.out.BasisWords = CardInClip; !inClip {
		c.out.BasisWords = CardOnSetting
		c.caveat("the card is of another shot on the same setting")
	}
}

func (c *correcting) spread(mired, duv float64) { c.out.SpreadMired, c.out.SpreadDuv = &mired, &duv }
