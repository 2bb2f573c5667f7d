package lan

import (
	"encoding/json"
	"fmt"
	"net"
	"strconv"
	"strings"
)

// An Origin is the name and port under which browsers know this server.
type Origin struct {
	// Name is a label that .local follows, such as set7, or a whole name with dots where
	// the certificate comes from elsewhere.
	Name string `json:"name"`
	Port int    `json:"port"`
}

// suffix is the domain of names by multicast DNS (RFC 6762).
const suffix = ".local"

// Local reports whether the name is one that this machine tells by multicast DNS itself.
func (o Origin) Local() bool { return !strings.Contains(o.Name, ".") }

// Host is the whole name, without a port.
func (o Origin) Host() string {
	if o.Local() {
		return o.Name + suffix
	}
	return o.Name
}

// String is the origin as browsers write it, such as https://set7.local:8443.
func (o Origin) String() string { return OriginAt(o.Host(), o.Port) }

// OriginAt writes the origin of HTTPS at a whole name and a port as browsers do.
func OriginAt(host string, port int) string {
	const usual = 443 // which browsers leave out
	if port == usual {
		return "https://" + host
	}
	return "https://" + net.JoinHostPort(host, strconv.Itoa(port))
}

// MarshalBinary gives the form in which an origin is kept.
func (o Origin) MarshalBinary() ([]byte, error) { return json.Marshal(o) }

// UnmarshalBinary reads a kept origin.
func (o *Origin) UnmarshalBinary(b []byte) error {
	if err := json.Unmarshal(b, o); err != nil {
		return fmt.Errorf("the origin that is kept cannot be read: %w", err)
	}
	return nil
}

// Lengths of names, as DNS has them.
const (
	longestLabel = 63
	longestName  = 253
)

// CheckName takes a name as somebody typed it and returns it as it is used: small letters,
// and no .local behind it. A name with other dots is a whole one; without a certificate
// from elsewhere there is none for it.
func CheckName(typed string, whole bool) (string, error) {
	name := strings.ToLower(strings.TrimSuffix(typed, "."))
	if label := strings.TrimSuffix(name, suffix); !whole || !strings.Contains(label, ".") {
		name = label
	}
	labels := strings.Split(name, ".")
	if !whole && len(labels) > 1 {
		return "", fmt.Errorf("the name %q has dots; %s", typed, allowedName)
	}
	for _, label := range labels {
		if !isLabel(label) {
			return "", fmt.Errorf("the name %q cannot be used (%d characters); %s", shortened(typed), len([]rune(typed)), allowedName)
		}
	}
	if len(name) > longestName {
		return "", fmt.Errorf("the name %q has %d characters; at most %d are allowed", shortened(typed), len(name), longestName)
	}
	return name, nil
}

const allowedName = "allowed are 1 to 63 of the letters a to z, digits and hyphens, with no hyphen first or last, " +
	"such as set7, which becomes set7" + suffix + " (capitals become small; ä is written ae)"

func isLabel(s string) bool {
	if s == "" || len(s) > longestLabel || s[0] == '-' || s[len(s)-1] == '-' {
		return false
	}
	return !strings.ContainsFunc(s, func(r rune) bool {
		return r != '-' && (r < '0' || r > '9') && (r < 'a' || r > 'z')
	})
}

// shortened keeps a message to a line, whatever was typed.
func shortened(s string) string {
	if r := []rune(s); len(r) > longestLabel+1 {
		return string(r[:longestLabel+1]) + "…"
	}
	return s
}
