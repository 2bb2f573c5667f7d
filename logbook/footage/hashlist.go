package footage

import (
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"
)

const hashListAllowed = "an ASC MHL hash list of version 2"

// mostDeep is how far elements of a hash list may be nested.
const mostDeep = 24

// readHashList reads an ASC MHL of version 2: names, sizes, times and hashes. Who copied what,
// which it tells too, is believed by nobody here. No entity is expanded, and no document type read.
func (c *Collection) readHashList(in io.Reader) error {
	d := xml.NewDecoder(in)
	h := &hashListReader{Collection: c, d: d}
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) && h.rooted && h.depth == 0 {
			return nil
		}
		if err != nil {
			return h.wrong(err)
		}
		if err := h.take(token); err != nil {
			return err
		}
	}
}

type hashListReader struct {
	*Collection
	d      *xml.Decoder
	depth  int
	rooted bool
	e      entry
	text   *string // what the text of the element goes to
	inside bool    // of a hash of a file
}

func (h *hashListReader) line() int {
	line, _ := h.d.InputPos()
	return line
}

func (h *hashListReader) wrong(err error) error {
	var listing *ListingError
	if errors.As(err, &listing) {
		return err
	}
	var seen string
	var syntax *xml.SyntaxError
	switch {
	case errors.As(err, &syntax):
		seen = syntax.Msg
	case errors.Is(err, io.EOF):
		seen = "the end of the file"
	default:
		return err
	}
	return &ListingError{h.line(), seen, hashListAllowed + ", whole and without entities of its own"}
}

func (h *hashListReader) take(token xml.Token) error {
	switch token := token.(type) {
	case xml.Directive:
		seen := "<!" + string(token[:min(len(token), 40)])
		return &ListingError{h.line(), seen, hashListAllowed + ", which has no document type and no entities"}
	case xml.StartElement:
		if h.depth++; h.depth > mostDeep {
			return &ListingError{h.line(), token.Name.Local, "elements at most " + strconv.Itoa(mostDeep) + " deep"}
		}
		return h.begin(token)
	case xml.EndElement:
		h.depth--
		h.text = nil
		if token.Name.Local == "hash" && h.inside {
			h.inside = false
			if h.e.path == "" {
				return &ListingError{h.line(), "a hash without a path", hashListAllowed}
			}
			return h.add(h.e)
		}
	case xml.CharData:
		if h.text != nil {
			if len(*h.text)+len(token) > mostLine {
				return &ListingError{h.line(), string(token[:min(len(token), 80)]), "a path of at most " + strconv.Itoa(mostLine) + " bytes"}
			}
			*h.text += string(token)
		}
	}
	return nil
}

func (h *hashListReader) begin(start xml.StartElement) error {
	attribute := func(name string) string {
		for _, a := range start.Attr {
			if a.Name.Local == name {
				return a.Value
			}
		}
		return ""
	}
	name := start.Name.Local
	if !h.rooted {
		h.rooted = true
		if name != "hashlist" || !strings.HasPrefix(attribute("version"), "2") {
			return &ListingError{h.line(), "<" + name + " version=" + strconv.Quote(attribute("version")) + ">", hashListAllowed}
		}
		return nil
	}
	h.text = nil
	switch {
	case name == "hash":
		h.inside, h.e = true, entry{size: -1, line: h.line()}
	case name == "path" && h.inside:
		h.text = &h.e.path
		if text := attribute("size"); text != "" {
			size, err := strconv.ParseInt(text, 10, 64)
			if err != nil || size < 0 {
				return &ListingError{h.line(), text, "a size in bytes: a whole number"}
			}
			h.e.size = size
		}
		if text := attribute("lastmodificationdate"); text != "" {
			var ok bool
			if h.e.at, ok = momentOf(text); !ok {
				return &ListingError{h.line(), text, isoAllowed}
			}
		}
	case h.inside && h.e.hash == "" && name != "metadata" && name != "previousPath":
		h.text = &h.e.hash
	}
	return nil
}
