package spectrumfile

import (
	"bytes"
	"encoding/xml"
	"io"
	"slices"
	"strings"
)

// lightQuantities are the spectral quantities of TM-27 that describe a light;
// the others describe a sample that light falls on [TM27].
var lightQuantities = []string{"flux", "intensity", "irradiance", "radiance", "exitance", "relative"}

// maxDepth is how deep elements may stand in each other, of which the standard
// needs 3; maxElements is how many there may be.
const (
	maxDepth    = 8
	maxElements = 20 * maxSamples
)

// tm27 is the state of reading a document.
type tm27 struct {
	path            []string
	roots, elements int
	quantity        string
	nm              string
	text            strings.Builder
	out             samples
}

// parseTM27 walks the document by tokens, so that its memory does not grow with
// what it skips.
func parseTM27(data []byte) (samples, error) {
	d := xml.NewDecoder(bytes.NewReader(data))
	var p tm27
	for {
		token, err := d.RawToken()
		if err == io.EOF {
			break
		}
		if err != nil {
			return samples{}, fileError(TM27, "not well-formed XML in UTF-8: %s", clipped(err.Error(), 200))
		}
		switch e := token.(type) {
		case xml.Directive:
			return samples{}, fileError(TM27, "a document type declaration, allowed is none")
		case xml.StartElement:
			err = p.start(e)
		case xml.EndElement:
			err = p.end(e)
		case xml.CharData:
			if p.inside("SpectralData") || p.inside("SpectralQuantity") {
				err = p.add(e)
			}
		}
		if err != nil {
			return samples{}, err
		}
	}
	if len(p.path) > 0 || p.roots == 0 {
		return samples{}, fileError(TM27, "the document ends too early")
	}
	return p.result()
}

func (p *tm27) inside(name string) bool {
	return len(p.path) == 3 && p.path[1] == "SpectralDistribution" && p.path[2] == name
}

func (p *tm27) start(e xml.StartElement) error {
	name := e.Name.Local
	p.elements++
	if len(p.path) == 0 {
		p.roots++
	}
	switch {
	case len(p.path) == 0 && (p.roots > 1 || !strings.HasPrefix(name, "IESTM27")):
		return fileError(TM27, "the document is a %s, allowed is one IESTM2714", shown(name))
	case len(p.path) == maxDepth:
		return fileError(TM27, "elements more than %d deep", maxDepth)
	case p.elements > maxElements:
		return fileError(TM27, "more than %d elements", maxElements)
	}
	p.path = append(p.path, name)
	if p.inside("SpectralData") {
		p.nm = ""
		for _, a := range e.Attr {
			if a.Name.Local == "wavelength" {
				p.nm = a.Value
			}
		}
	}
	p.text.Reset()
	return nil
}

func (p *tm27) add(text []byte) error {
	const most = 100
	if p.text.Len()+len(text) > most {
		return fileError(TM27, "%s of more than %d characters", p.path[2], most)
	}
	p.text.Write(text)
	return nil
}

func (p *tm27) end(e xml.EndElement) error {
	if len(p.path) == 0 || p.path[len(p.path)-1] != e.Name.Local {
		return fileError(TM27, "not well-formed XML: an end of %s that closes nothing", shown(e.Name.Local))
	}
	var err error
	switch {
	case p.inside("SpectralQuantity"):
		p.quantity = strings.TrimSpace(p.text.String())
	case p.inside("SpectralData"):
		nm, known := decimal(p.nm)
		value, numeric := decimal(p.text.String())
		if !known || !numeric {
			return fileError(TM27, "SpectralData of wavelength %s is %s, allowed are numbers: nm and a value", shown(p.nm), shown(p.text.String()))
		}
		err = p.out.add(TM27, nm, value)
	}
	p.path = p.path[:len(p.path)-1]
	return err
}

func (p *tm27) result() (samples, error) {
	if !slices.Contains(lightQuantities, strings.ToLower(p.quantity)) {
		return samples{}, fileError(TM27, "SpectralQuantity is %s, allowed is %s", shown(p.quantity), strings.Join(lightQuantities, ", "))
	}
	return p.out, nil
}
