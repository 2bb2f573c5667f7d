package qr

import (
	"fmt"
	"io"
	"strings"

	codes "github.com/piglig/go-qr"
)

// quiet is how many modules around a code stay light: readers need them (ISO/IEC 18004).
const quiet = 4

// drawn is a code with its quiet zone.
type drawn struct{ code *codes.QrCode }

// draw corrects 15 % of a code: it is read off a screen, where nothing is torn or dirty.
func draw(text string) (drawn, error) {
	code, err := codes.EncodeText(text, codes.Medium)
	if err != nil {
		return drawn{}, fmt.Errorf("the address does not fit into a QR code: %w", err)
	}
	return drawn{code}, nil
}

func (d drawn) size() int { return d.code.Size() + 2*quiet }

// dark reports whether a module is dark; those outside of the code are not.
func (d drawn) dark(x, y int) bool { return d.code.Module(x-quiet, y-quiet) }

// SVG is the code as a drawing with a title, black on white whatever is around it: not
// every reader takes light on dark.
func SVG(text, title string) (string, error) {
	d, err := draw(text)
	if err != nil {
		return "", err
	}
	var path strings.Builder
	for y := range d.size() {
		for x := range d.size() {
			if d.dark(x, y) {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x, y)
			}
		}
	}
	escape := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" role="img" shape-rendering="crispEdges">`+
		`<title>%s</title><rect width="100%%" height="100%%" fill="#fff"/><path d="%s"/></svg>`,
		d.size(), d.size(), escape.Replace(title), path.String()), nil
}

// halves are the characters by which half is light: the upper, the lower.
var halves = map[[2]bool]string{{true, true}: "█", {true, false}: "▀", {false, true}: "▄", {false, false}: " "}

// Write draws the code with half blocks, two modules a character. With colours it says
// black and white itself (ANSI); without, light modules are drawn, as fits letters that
// are lighter than what they stand on.
func Write(w io.Writer, text string, colours bool) error {
	d, err := draw(text)
	if err != nil {
		return err
	}
	before, after := "", "\n"
	if colours {
		before, after = "\x1b[97;40m", "\x1b[0m\n"
	}
	var out strings.Builder
	for y := 0; y < d.size(); y += 2 {
		out.WriteString(before)
		for x := range d.size() {
			light, below := !d.dark(x, y), !d.dark(x, y+1)
			out.WriteString(halves[[2]bool{light, below}])
		}
		out.WriteString(after)
	}
	_, err = io.WriteString(w, out.String())
	return err
}
