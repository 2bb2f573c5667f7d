package main

import (
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"testing"
	"time"
)

// Whoever sends slowly, or nothing, keeps no connection. The times are those of the server, made a
// hundred times shorter.
func TestWhoSendsNothingKeepsNoConnection(t *testing.T) {
	h := &host{log: slog.New(slog.DiscardHandler)}
	server := h.serverFor(t.Context(), doorway{handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_, err := io.Copy(io.Discard, r.Body)
		if err != nil {
			w.WriteHeader(http.StatusRequestTimeout)
		}
	})})
	for name, limit := range map[string]*time.Duration{
		"the head of a request": &server.ReadHeaderTimeout, "a request": &server.ReadTimeout, "the next request": &server.IdleTimeout,
	} {
		if *limit <= 0 {
			t.Fatalf("for %s the server waits for ever", name)
		}
		*limit /= 100
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	go func() {
		if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	}()
	t.Cleanup(func() { _ = server.Close() })
	for name, sent := range map[string]string{
		"half a head":         "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-More: ",
		"nothing":             "",
		"half a body":         "POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 10\r\n\r\nhalf",
		"a request, no other": "GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			conn, err := net.Dial("tcp", listener.Addr().String())
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			if _, err := io.WriteString(conn, sent); err != nil {
				t.Fatal(err)
			}
			if _, err := io.Copy(io.Discard, conn); err != nil { // comes to its end when the server hangs up
				t.Logf("it ended with %v", err)
			}
		})
	}
}
