package picture

import (
	"math"
	"strconv"
	"strings"
)

// Width is that of every picture in CSS pixels: what a phone of 360 has beside its margins, where a browser keeps some of it for scrolling
// too. A picture is shown as wide as there is room, so that letters are no smaller on a phone than they are here.
const Width = 320

const (
	edge     = 10   // free on both sides
	titleEm  = 16.0 // sizes of type in px
	textEm   = 13.0
	smallEm  = 12.0
	lineStep = 1.35 // from line to line, in em
)

// style needs no colour: a picture beside a monitor must not tint the eye.
const style = `.evenwhite{font-family:system-ui,sans-serif}
.evenwhite .p{fill:#fff}.evenwhite .t{fill:#000}.evenwhite .s{fill:#555}.evenwhite .a{font-weight:bold}
.evenwhite .o{paint-order:stroke;stroke:#fff;stroke-width:3px;stroke-linejoin:round}
.evenwhite .l{stroke:#000;fill:none}.evenwhite .g{stroke:#bbb;fill:none}.evenwhite .f{fill:#000;stroke:#000}
.evenwhite .h{fill:#fff;stroke:#000}.evenwhite .b{fill:#ddd}.evenwhite .n{fill:#777}.evenwhite .w{fill:#fff}
@media (prefers-color-scheme:dark){
.evenwhite .p{fill:#111}.evenwhite .t{fill:#eee}.evenwhite .s{fill:#aaa}.evenwhite .o{stroke:#111}
.evenwhite .l{stroke:#eee}.evenwhite .g{stroke:#555}.evenwhite .f{fill:#eee;stroke:#eee}
.evenwhite .h{fill:#111;stroke:#eee}.evenwhite .b{fill:#3a3a3a}}`

// StyleSource lets a page with a Content-Security-Policy show a picture within itself: the
// picture's own style, by its hash, which a test works out.
const StyleSource = "'sha256-B/ribw2pQMv1tDT+XHPJdZ458LubhSMfOxIWEqis1bc='"

// Policy is the Content-Security-Policy that a picture is answered with: its own
// style and nothing else.
const Policy = "default-src 'none'; style-src " + StyleSource

// paper is a picture that grows downwards.
type paper struct {
	body strings.Builder
	y    float64 // what is above is drawn on
	plot box     // the drawing alone, without words above and the list below; empty: all of it
}

// finish puts the head before what was drawn.
func (p *paper) finish(title string, facts []string) []byte {
	var out strings.Builder
	height := px(math.Ceil(p.y + edge))
	out.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="evenwhite" role="img" aria-labelledby="title desc"` +
		` width="` + px(Width) + `" height="` + height + `" viewBox="0 0 ` + px(Width) + ` ` + height + `"` + p.plotted() + `>` + "\n")
	out.WriteString(`<title id="title">` + escaped(title) + "</title>\n")
	out.WriteString(`<desc id="desc">` + escaped(strings.Join(facts, "\n")) + "</desc>\n")
	out.WriteString("<style>" + style + "</style>\n")
	out.WriteString(`<rect class="p" width="` + px(Width) + `" height="` + height + `"/>` + "\n")
	out.WriteString(p.body.String())
	out.WriteString("</svg>\n")
	return []byte(out.String())
}

// plotted tells where the drawing stands, for whoever shows it alone.
func (p *paper) plotted() string {
	if p.plot == (box{}) {
		return ""
	}
	return ` data-plot="` + strings.Join([]string{px(p.plot.left), px(p.plot.top), px(p.plot.width()), px(p.plot.height())}, " ") + `"`
}

// px writes a length to a tenth of a pixel, which also hides the last bits in which
// processors differ.
func px(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64)
}

// number writes a number of an answer as JSON does.
func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// escaped makes any text safe between and inside tags; characters that XML does not
// know become U+FFFD, and marks that turn the direction of writing are left out.
func escaped(text string) string { return escapes.Replace(strings.Map(upright, text)) }

// escapes are those of encoding/xml, which a build for a phone would carry whole.
var escapes = strings.NewReplacer(
	`"`, "&#34;", "'", "&#39;", "&", "&amp;", "<", "&lt;", ">", "&gt;", "\t", "&#x9;", "\n", "&#xA;", "\r", "&#xD;",
)

func upright(r rune) rune {
	switch {
	case r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069:
		return -1
	case r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0xfffe || r == 0xffff:
		return '\ufffd'
	}
	return r
}

// attributes are names and values in turn; a name of a datum begins with data-.
type attributes []string

func (p *paper) tag(name, end string, all ...string) {
	p.body.WriteString("<" + name)
	for i := 0; i+1 < len(all); i += 2 {
		if all[i+1] != "" {
			p.body.WriteString(" " + all[i] + `="` + escaped(all[i+1]) + `"`)
		}
	}
	p.body.WriteString(end)
}

func (p *paper) open(data attributes) { p.tag("g", ">\n", data...) }
func (p *paper) close()               { p.body.WriteString("</g>\n") }

func (p *paper) line(class, dash string, from, to spot) {
	p.tag("line", "/>\n", "class", class, "stroke-dasharray", dash, "x1", px(from.x), "y1", px(from.y), "x2", px(to.x), "y2", px(to.y))
}

func (p *paper) rect(class string, b box) {
	p.tag("rect", "/>\n", "class", class, "x", px(b.left), "y", px(b.top), "width", px(b.width()), "height", px(b.height()))
}

// spot is a place on the paper.
type spot struct{ x, y float64 }

func (p *paper) polyline(class, dash string, spots []spot) {
	if len(spots) < 2 {
		return
	}
	points := make([]string, len(spots))
	for i, s := range spots {
		points[i] = px(s.x) + "," + px(s.y)
	}
	p.tag("polyline", "/>\n", "class", class, "stroke-dasharray", dash, "stroke-width", "1.5", "points", strings.Join(points, " "))
}

// write puts text on a base line; anchor is start, middle or end.
func (p *paper) write(class string, em float64, at spot, anchor, text string) {
	if anchor == "start" {
		anchor = ""
	}
	p.tag("text", ">", "class", class, "font-size", px(em), "x", px(at.x), "y", px(at.y), "text-anchor", anchor)
	p.body.WriteString(escaped(text) + "</text>\n")
}

// paragraph writes text from x to the right edge, broken into lines, and moves on.
func (p *paper) paragraph(class string, em, x float64, text string) {
	measured := em
	if strings.HasSuffix(class, " a") {
		measured *= bold
	}
	for _, line := range wrapped(text, Width-edge-x, measured) {
		p.y += em * lineStep
		p.write(class, em, spot{x, p.y - em*0.3}, "start", line)
	}
}

// heading begins a picture: what it is of, and first of all what it comes to.
func (p *paper) heading(title, headline string, words ...string) {
	p.y = 6
	p.paragraph("s", smallEm, edge, title)
	p.paragraph("t a", titleEm, edge, capital(headline))
	for _, w := range words {
		p.paragraph("t", textEm, edge, w)
	}
	p.y += 6
}

// howToRead stands at the end: whoever knows it need not pass over it each time.
func (p *paper) howToRead(text string) {
	p.y += 14
	p.line("g", "", spot{edge, p.y - 6}, spot{Width - edge, p.y - 6})
	p.paragraph("s", smallEm, edge, text)
}
