package trust

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/xml"
	"fmt"
)

// profile is the root as a configuration profile, a property list in XML, which iPhones and
// iPads take. Its identifier is the same for every root of this name, so that a new one takes
// the place of the old.
func (s Site) profile() []byte {
	var name bytes.Buffer
	_ = xml.EscapeText(&name, []byte(s.Name)) // into memory
	return fmt.Appendf(nil, profileForm, s.fileName(".cer"), base64.StdEncoding.EncodeToString(s.Root), name.String(),
		s.uuid("certificate"), s.uuid("profile"))
}

// uuid is drawn from the root, so that one root makes one profile (RFC 9562, version 8).
func (s Site) uuid(part string) string {
	h := sha256.Sum256(append([]byte(part), s.Root...))
	h[6], h[8] = h[6]&0x0f|0x80, h[8]&0x3f|0x80
	return fmt.Sprintf("%X-%X-%X-%X-%X", h[:4], h[4:6], h[6:8], h[8:10], h[10:16])
}

const profileForm = `<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE plist PUBLIC "-//Apple//DTD PLIST 1.0//EN" "http://www.apple.com/DTDs/PropertyList-1.0.dtd">
<plist version="1.0">
<dict>
	<key>PayloadContent</key>
	<array>
		<dict>
			<key>PayloadCertificateFileName</key>
			<string>%[1]s</string>
			<key>PayloadContent</key>
			<data>%[2]s</data>
			<key>PayloadDescription</key>
			<string>Vouches for %[3]s and private addresses, and for nothing on the internet.</string>
			<key>PayloadDisplayName</key>
			<string>evenwhite %[3]s</string>
			<key>PayloadIdentifier</key>
			<string>evenwhite.%[3]s.certificate</string>
			<key>PayloadType</key>
			<string>com.apple.security.root</string>
			<key>PayloadUUID</key>
			<string>%[4]s</string>
			<key>PayloadVersion</key>
			<integer>1</integer>
		</dict>
	</array>
	<key>PayloadDescription</key>
	<string>Lets this device trust the evenwhite server %[3]s on the set. Remove it when the job is over.</string>
	<key>PayloadDisplayName</key>
	<string>evenwhite %[3]s</string>
	<key>PayloadIdentifier</key>
	<string>evenwhite.%[3]s</string>
	<key>PayloadRemovalDisallowed</key>
	<false/>
	<key>PayloadType</key>
	<string>Configuration</string>
	<key>PayloadUUID</key>
	<string>%[5]s</string>
	<key>PayloadVersion</key>
	<integer>1</integer>
</dict>
</plist>
`
