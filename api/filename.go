package api

import (
	"fmt"
	"strings"
	"unicode"

	"evenwhite/logbook"
)

// disposition names a download twice (RFC 6266): in ASCII, by the production's short name
// or the end of its id, for programs that know no other; and by its title in whatever
// script (RFC 8187), for all others.
func disposition(title, shortName string, production logbook.ID, rest string) string {
	if shortName = asciiName(shortName); shortName == "" {
		id := production.String()
		shortName = "production-" + id[len(id)-8:]
	}
	out := fmt.Sprintf("attachment; filename=%q", shortName+"-"+rest)
	if title = titleName(title); title != "" {
		out += "; filename*=UTF-8''" + percentEncoded(title+"-"+rest)
	}
	return out
}

// asciiName is a name of lower-case letters, digits and hyphens.
func asciiName(name string) string {
	return strings.Map(func(r rune) rune {
		if 'a' <= r && r <= 'z' || '0' <= r && r <= '9' || r == '-' {
			return r
		}
		return -1
	}, strings.ToLower(name))
}

// titleName is a title without what no file system takes, at most 60 characters of it.
func titleName(title string) string {
	title = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, title)
	const most = 60
	if runes := []rune(title); len(runes) > most {
		title = string(runes[:most])
	}
	return strings.Trim(title, " .")
}

// percentEncoded is the value of an extended parameter (RFC 8187, section 3.2.1).
func percentEncoded(text string) string {
	var out strings.Builder
	for _, b := range []byte(text) {
		if 'a' <= b && b <= 'z' || 'A' <= b && b <= 'Z' || '0' <= b && b <= '9' || strings.IndexByte("!#$&+-.^_`|~", b) >= 0 {
			out.WriteByte(b)
		} else {
			fmt.Fprintf(&out, "%%%02X", b)
		}
	}
	return out.String()
}

// fileWords makes words a part of a file's name: letters and digits of ASCII, joined by hyphens.
func fileWords(words string) string {
	parts := strings.FieldsFunc(words, func(r rune) bool {
		return !('a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || '0' <= r && r <= '9')
	})
	return strings.Join(parts, "-")
}
