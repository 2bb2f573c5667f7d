package door

import "net/http"

// Policy is the Content-Security-Policy of every answer that sets no other: it lets a page
// of this server load and ask this server alone, run no script but its files, and be shown
// within no other page. An engine in WebAssembly may run.
const Policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// SetHeaders sets what every answer carries: nobody is to guess what a body is, or to learn
// from a link where somebody came from. It asks nobody to insist on HTTPS (HSTS): that would
// lock the trust page out, which must be plain.
func SetHeaders(h http.Header) {
	h.Set("Content-Security-Policy", Policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
}
