// Package setup reads a set-up once, as of a moment: its whites and the periods in which
// each was in force, the aims of its cameras, its mix, its drift, its limits.
//
// Read, or a Reader for several set-ups of one book, chooses readings, whites and cards for
// the rooms above, which get what it returns. What grey cards teach them, of a clip or for
// now, has one rule in cards.go.
//
// A Reader reads for now, for what was true at the wrap, or for the rows of clips; moment says
// when a clip was and when a set-up was wrapped, measured what each light was then, and mix_at
// their mix. Only ages and forecasts of now look at the wall clock.
//
// Reading the source: read and shows; moment, measured and mix_at; white, white_reach (which one a take has), white_rests and
// white_rule (its colour), white_contested and aim; mix and mix_drift; drift,
// and drift_chart for the picture; light, meters, cards, look; dial and off; limits, caution and clip_names.
//
// A white is kept as its rule and a list of what it rests on, and resolved anew each time from
// those alone. One without a list (of an older app) is read as the log stood when it was entered.
package setup
