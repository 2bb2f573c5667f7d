package footage

import (
	"bufio"
	"errors"
	"io"
	"strconv"
	"strings"
)

// lineReader reads the lines of one listing: what the first line with a file is, all are.
type lineReader struct {
	*Collection
	form   Form
	folder string // of ls -R
	layout string // "" before the first file; path, sum, long, or of printf the letters of its parts: s, t, and p where it is first
	blank  bool   // the line before was empty, or there was none
	line   int
}

const linesAllowed = "what ls -R, ls -lR, find, find -ls, find -printf '%s %T@ %p\\n', sha256sum or md5sum print"

func (c *Collection) readLines(in *bufio.Reader, form Form) error {
	r := &lineReader{Collection: c, form: form, blank: true}
	for {
		text, err := in.ReadSlice('\n')
		r.line++
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			return &ListingError{r.line, string(text[:200]), "a line of at most " + strconv.Itoa(mostLine) + " bytes"}
		case errors.Is(err, io.EOF) && len(text) == 0:
			return nil
		case errors.Is(err, io.EOF):
			return &ListingError{r.line, string(text), "a line that ends: the listing may have been cut off"}
		case err != nil:
			return err
		}
		if err := r.take(strings.TrimSuffix(strings.TrimSuffix(string(text), "\n"), "\r")); err != nil {
			return err
		}
	}
}

func (r *lineReader) take(text string) error {
	if r.line == 1 {
		text = strings.TrimPrefix(text, "\ufeff")
	}
	if strings.TrimSpace(text) == "" {
		r.blank = true
		return nil
	}
	after := r.blank
	r.blank = false
	if strings.IndexByte(text, 0) >= 0 {
		return r.wrong(text)
	}
	if header, ok := strings.CutSuffix(text, ":"); ok && after {
		r.folder = header
		r.folders[clean(header)] = true
		return nil
	}
	if total, ok := strings.CutPrefix(text, "total "); ok && r.folder != "" && strings.IndexByte(total, '.') < 0 {
		return nil // of ls -l
	}
	if r.layout == "" {
		r.layout = r.layoutOf(text)
	}
	e, ok := r.parse(text)
	if !ok {
		return r.wrong(text)
	}
	if e.path == "" {
		return nil // a folder, or what is no file
	}
	e.line = r.line
	return r.add(e)
}

func (r *lineReader) wrong(text string) error {
	allowed := linesAllowed
	if r.layout != "" && r.layout != "path" {
		allowed = "a line like the first: all of one listing are alike"
	}
	return &ListingError{r.line, text, allowed}
}

// layoutOf finds out what the lines are.
func (r *lineReader) layoutOf(text string) string {
	if _, ok := sumLine(text); ok {
		return "sum"
	}
	if _, ok := r.longLine(text); ok {
		return "long"
	}
	if parts, rest := printed(text, ""); parts != "" && rest != "" && (strings.Contains(parts, "t") || strings.ContainsAny(rest, "/\\")) {
		return parts
	}
	for _, layout := range []string{"pst", "pt"} {
		if e, ok := timeLast(text, layout); ok && (layout == "pt" || strings.Contains(e.path, ".")) {
			return layout
		}
	}
	return "path"
}

func (r *lineReader) parse(text string) (entry, bool) {
	switch r.layout {
	case "sum":
		return sumLine(text)
	case "long":
		e, ok := r.longLine(text)
		return e, ok
	case "path":
		return entry{path: r.in(text), size: -1, plain: true}, true
	case "pt", "pst":
		return timeLast(text, r.layout)
	}
	return printedLine(text, r.layout)
}

// in is the path of a name that stands under a folder of ls -R.
func (r *lineReader) in(name string) string {
	if r.folder == "" {
		return name
	}
	return r.folder + "/" + name
}

// sums are how many hexadecimal digits the sums of files have.
var sums = map[int]bool{16: true, 32: true, 40: true, 56: true, 64: true, 96: true, 128: true}

func isSum(text string) bool {
	return sums[len(text)] && strings.Trim(text, "0123456789abcdefABCDEF") == ""
}

// sumLine reads a line of sha256sum and its like, and of the programs that write the name first.
func sumLine(text string) (entry, bool) {
	escaped := strings.HasPrefix(text, `\`)
	sum, path, ok := strings.Cut(strings.TrimPrefix(text, `\`), " ")
	if ok && isSum(sum) && len(path) > 1 && (path[0] == ' ' || path[0] == '*') {
		if path = path[1:]; escaped {
			path = strings.NewReplacer(`\\`, `\`, `\n`, "\n", `\r`, "\r").Replace(path)
		}
		return entry{path: path, size: -1, hash: sum}, true
	}
	head, sum, ok := strings.Cut(text, ") = ")
	_, path, too := strings.Cut(head, " (")
	if ok && too && isSum(sum) && path != "" {
		return entry{path: path, size: -1, hash: sum}, true
	}
	return entry{}, false
}

// longLine reads a line of ls -l or find -ls.
func (r *lineReader) longLine(text string) (e entry, ok bool) {
	next := func() (word string) {
		text = strings.TrimLeft(text, " ")
		word, text, _ = strings.Cut(text, " ")
		return word
	}
	mode, listed := next(), false
	if !isMode(mode) {
		_, err := strconv.ParseUint(mode, 10, 64)
		next() // blocks
		if mode = next(); err != nil || !isMode(mode) {
			return e, false
		}
		listed = true
	}
	for range 3 { // links, owner, group
		next()
	}
	size, err := strconv.ParseInt(next(), 10, 64)
	if err != nil && mode[0] != 'c' && mode[0] != 'b' {
		return e, false
	}
	e.size = size
	month := next()
	day, rest := next(), ""
	if strings.HasPrefix(month, "1") || strings.HasPrefix(month, "2") { // ISO 8601, in a long and a full form
		date := month + " " + day
		if zone := strings.TrimLeft(text, " "); len(zone) > 6 && (zone[0] == '+' || zone[0] == '-') && zone[5] == ' ' {
			date += " " + next()
		}
		e.at, ok = momentOf(date)
	} else {
		rest = next()
		e.at, ok = shortDate(month, day, rest, r.form.Around)
	}
	if !ok {
		return e, false
	}
	if mode[0] != '-' {
		return entry{}, true
	}
	if e.path = strings.TrimLeft(text, " "); listed {
		e.path = unescaped(e.path)
	} else {
		e.path = r.in(e.path)
	}
	return e, e.path != ""
}

func isMode(text string) bool {
	return len(text) >= 10 && len(text) <= 11 && strings.IndexByte("-dlbcps", text[0]) >= 0 && strings.Trim(text[1:10], "rwxsStT-") == ""
}

// unescaped is a name as find -ls was given it.
func unescaped(text string) string {
	if strings.IndexByte(text, '\\') < 0 {
		return text
	}
	var out strings.Builder
	for i := 0; i < len(text); i++ {
		if text[i] != '\\' || i+1 == len(text) {
			out.WriteByte(text[i])
			continue
		}
		if i+3 < len(text) {
			if n, err := strconv.ParseUint(text[i+1:i+4], 8, 8); err == nil {
				out.WriteByte(byte(n))
				i += 3
				continue
			}
		}
		i++
		if at := strings.IndexByte("abfnrt", text[i]); at >= 0 {
			out.WriteByte("\a\b\f\n\r\t"[at])
		} else {
			out.WriteByte(text[i])
		}
	}
	return out.String()
}

// printed finds the sizes (s) and times (t) before the path of a line of find -printf: as many as
// wanted says, else as many as there are.
func printed(text, wanted string) (parts, rest string) {
	rest = text
	for len(parts) < 3 && (wanted == "" || len(parts) < len(wanted)) {
		rest = strings.TrimLeft(rest, " \t")
		end := strings.IndexAny(rest, " \t")
		if end <= 0 {
			return parts, rest
		}
		word, after := rest[:end], strings.TrimLeft(rest[end:], " \t")
		clock, _, _ := strings.Cut(after, " ")
		_, whole := strconv.ParseInt(word, 10, 63)
		_, timed := momentOf(word)
		_, apart := momentOf(word + " " + clock)
		byDot := timed && strings.ContainsAny(word, ".-")
		switch {
		case byDot, timed && strings.HasSuffix(parts, "s") && wanted == "", timed && wanted != "" && wanted[len(parts)] == 't':
			parts, rest = parts+"t", after
		case apart:
			parts, rest = parts+"t", strings.TrimLeft(after[len(clock):], " \t")
		case whole == nil:
			parts, rest = parts+"s", after
		default:
			return parts, rest
		}
	}
	return parts, rest
}

func printedLine(text, layout string) (e entry, ok bool) {
	e.size = -1
	parts, path := printed(text, layout)
	if parts != layout || path == "" {
		return e, false
	}
	for _, part := range layout {
		text = strings.TrimLeft(text, " \t")
		word, after, _ := strings.Cut(strings.ReplaceAll(text, "\t", " "), " ")
		if part == 's' {
			e.size, _ = strconv.ParseInt(word, 10, 64)
		} else if m, timed := momentOf(word); timed {
			e.at = m
		} else {
			clock, _, _ := strings.Cut(strings.TrimLeft(after, " "), " ")
			e.at, _ = momentOf(word + " " + clock)
			text = strings.TrimLeft(text[len(word):], " \t")
			word = clock
		}
		text = text[len(word):]
	}
	e.path, e.plain = path, true
	return e, true
}

// timeLast reads a line of find -printf with the path first: else its time would be part of the name.
func timeLast(text, layout string) (e entry, ok bool) {
	path, word := cutLast(text)
	if e.at, ok = momentOf(word); !ok || !strings.ContainsAny(word, ".-") {
		return e, false
	}
	if e.size = -1; layout == "pst" {
		path, word = cutLast(path)
		var err error
		if e.size, err = strconv.ParseInt(word, 10, 63); err != nil {
			return e, false
		}
	}
	e.path, e.plain = path, true
	return e, path == "." || strings.ContainsAny(path, `/\`)
}

// cutLast parts the last word from a text.
func cutLast(text string) (before, word string) {
	at := strings.LastIndexAny(text, " \t") + 1
	return strings.TrimRight(text[:at], " \t"), text[at:]
}
