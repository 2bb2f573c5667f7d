package api

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"evenwhite/logbook"
)

func TestPairingLimitsCannotBeDodgedByAHeader(t *testing.T) {
	d := openDoor(t)
	service, err := New(Config{Store: d.keep.(logbook.Store), Auth: d.Auth, Now: d.clock.now, Log: d.Auth.log, Program: "evenwhite test"})
	if err != nil {
		t.Fatal(err)
	}
	try := func(i int) int {
		req := httptest.NewRequest(http.MethodPost, "/v1/pairing", strings.NewReader(`{"code":"BCDFGHJK"}`))
		req.Header.Set("Content-Type", "application/json")
		for _, name := range []string{"X-Forwarded-For", "X-Real-IP", "Forwarded"} {
			req.Header.Set(name, fmt.Sprintf("198.51.100.%d", i))
		}
		rec := httptest.NewRecorder()
		service.ServeHTTP(rec, req)
		return rec.Code
	}
	for i := range triesPerAddress {
		if got := try(i); got != http.StatusForbidden {
			t.Fatalf("try %d: got %d, want 403", i, got)
		}
	}
	if got := try(triesPerAddress); got != http.StatusTooManyRequests {
		t.Errorf("one try more: got %d, want 429", got)
	}
}
