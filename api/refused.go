package api

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"strings"
)

// ProblemListener lets clients read as a problem what net/http refuses before any handler
// sees it: a request line or header that is none, or is too long. net/http writes that
// answer in one piece, in a form that no handler's answer has. Under TLS it is written
// inside, and stays text; but who speaks without TLS there is told in this form.
func ProblemListener(l net.Listener) net.Listener { return problemListener{l} }

type problemListener struct{ net.Listener }

func (l problemListener) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	if tcp, ok := c.(*net.TCPConn); ok {
		return problemConn{tcp}, err
	}
	return c, err
}

// problemConn keeps all that net/http looks for in a connection.
type problemConn struct{ *net.TCPConn }

func (c problemConn) Write(b []byte) (int, error) {
	instead, ok := refusedProblem(b)
	if !ok {
		return c.TCPConn.Write(b)
	}
	if _, err := c.TCPConn.Write(instead); err != nil {
		return 0, err
	}
	return len(b), nil
}

const (
	refusedHeaders = "\r\nContent-Type: text/plain; charset=utf-8\r\nConnection: close\r\n\r\n"
	refusedPlain   = "HTTP/1.0 400 Bad Request\r\n\r\n" // to who speaks without TLS where it is spoken
)

// refusedProblem is what stands for an answer of net/http's own.
func refusedProblem(answer []byte) ([]byte, bool) {
	text := ""
	if plain, ok := bytes.CutPrefix(answer, []byte(refusedPlain)); ok {
		text = "400 Bad Request: " + strings.TrimSpace(string(plain))
	} else if !bytes.HasPrefix(answer, []byte("HTTP/1.1 ")) {
		return nil, false
	} else if _, body, ok := strings.Cut(string(answer), refusedHeaders); ok {
		text = body
	}
	code, words, _ := strings.Cut(text, " ")
	status, err := strconv.Atoi(code)
	if err != nil || status < 400 || http.StatusText(status) == "" {
		return nil, false
	}
	p := Problem{Type: problemPrefix + "bad-request", Title: http.StatusText(status), Status: status}
	if status == http.StatusRequestHeaderFieldsTooLarge {
		p.Type, p.Detail = problemPrefix+"header-too-large", "The request line and the header fields together may have 32 KiB."
	} else if _, what, ok := strings.Cut(words, ": "); ok {
		p.Detail = what
	}
	p.bound()
	body, err := json.Marshal(p)
	if err != nil {
		return nil, false
	}
	return fmt.Appendf(nil, "HTTP/1.1 %d %s\r\nContent-Type: application/problem+json\r\nContent-Length: %d\r\n"+
		"Cache-Control: no-store\r\nX-Content-Type-Options: nosniff\r\nConnection: close\r\n\r\n%s", status, p.Title, len(body), body), true
}
