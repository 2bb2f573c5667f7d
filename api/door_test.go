package api

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

func TestPairingLimitsCannotBeDodgedByAHeader(t *testing.T) {
	s := openSite(t)
	service, err := New(Config{Store: s.store, Auth: s.auth, Now: s.clock.now, Log: s.logger, Program: "evenwhite test"})
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
	const allowed = 10 // a minute
	for i := range allowed {
		if got := try(i); got != http.StatusForbidden {
			t.Fatalf("try %d: got %d, want 403", i, got)
		}
	}
	if got := try(allowed); got != http.StatusTooManyRequests {
		t.Errorf("one try more: got %d, want 429", got)
	}
}

func TestTheContextOfARequestHoldsItsCaller(t *testing.T) {
	here := drawID()
	c := pairing.Caller{Grants: pairing.Grants{here.String(): pairing.Editor}}
	if got := callerOf(withCaller(context.Background(), c)); got.Grants[here.String()] != pairing.Editor {
		t.Errorf("the context lost the caller: got %+v", got)
	}
	if err := callerOf(context.Background()).May(pairing.Guest, here); !errors.Is(err, pairing.ErrRole) {
		t.Errorf("got %v of no caller, want %v", err, pairing.ErrRole)
	}
}
