package api

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/review"
)

func TestProblemOf(t *testing.T) {
	for _, c := range []struct {
		name   string
		err    error
		status int
		kind   string
	}{
		{"a known error", ErrStale, 412, "stale"},
		{"a known error inside another", fmt.Errorf("record 7: %w", logbook.ErrNoProduction), 404, "no-production"},
		{"a wrong field", wrong("kelvin", "-3", "1000 to 25000"), 400, "bad-request"},
		{"what the router finds", echo.ErrMethodNotAllowed, 405, "method"},
		{"what the router finds nowhere", echo.ErrNotFound, 404, "no-resource"},
		{"a full disk", fmt.Errorf("%w (write /srv/a.db)", logbook.ErrFull), 507, "disk-full"},
		{"a disk that failed", fmt.Errorf("%w (write /srv/a.db)", logbook.ErrBroken), 503, "disk-failed"},
		{"a page that cannot be read", fmt.Errorf("/srv/a.db: %w", logbook.ErrDamaged), 500, "damaged"},
		{"anything else", errors.New("disk sector 9"), 500, "internal"},
		{"a status that nobody planned", echo.NewHTTPError(418), 500, "internal"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := problemOf(c.err)
			if p.Status != c.status || p.Type != "urn:evenwhite:problem:"+c.kind || p.Title == "" {
				t.Errorf("got %d %s %q, want %d …:%s with a title", p.Status, p.Type, p.Title, c.status, c.kind)
			}
			if strings.Contains(p.Detail, "/srv") || p.Status >= 500 && p.Detail == "" {
				t.Errorf("got the detail %q, want what to do and no name of a file", p.Detail)
			}
		})
	}
	t.Run("every row has a name and a title, and a name stands for one status", func(t *testing.T) {
		seen := make(map[string]string)
		for _, row := range problemTable {
			said := fmt.Sprint(row.status, row.title)
			if row.name == "" || row.title == "" || row.status < 400 || seen[row.name] != "" && seen[row.name] != said {
				t.Errorf("row %q: got status and title %q, elsewhere %q", row.name, said, seen[row.name])
			}
			seen[row.name] = said
		}
	})
	t.Run("a wrong field is named with its value and what is allowed", func(t *testing.T) {
		p := problemOf(wrong("settings.kelvin", strings.Repeat("9", 500), "1000 to 25000"))
		want := FieldProblem{"settings.kelvin", strings.Repeat("9", 80) + "…", "1000 to 25000"}
		if len(p.Errors) != 1 || p.Errors[0] != want {
			t.Errorf("got %+v, want %+v", p.Errors, want)
		}
	})
	t.Run("what pairing refuses is reported like any wrong field", func(t *testing.T) {
		role := strings.Repeat("boss", 50)
		_, err := openSite(t).auth.Invite("the test", pairing.Role(role), "phone", logbook.ID{})
		if got, want := problemOf(err), problemOf(wrong("role", role, "owner, editor, post, reader, guest")); !reflect.DeepEqual(got, want) {
			t.Errorf("got %+v, want %+v", got, want)
		}
	})
}

func TestErrorHandler(t *testing.T) {
	answer := func(method string, err error) (*httptest.ResponseRecorder, string) {
		var log bytes.Buffer
		e := echo.New()
		e.HTTPErrorHandler = errorHandler(slog.New(slog.NewTextHandler(&log, nil)))
		e.Match([]string{"GET", "HEAD"}, "/v1/things/:thing", func(echo.Context) error { return err })
		rec := httptest.NewRecorder()
		e.ServeHTTP(rec, httptest.NewRequest(method, "/v1/things/a%20b", nil))
		return rec, log.String()
	}
	t.Run("answers with the problem", func(t *testing.T) {
		rec, log := answer("GET", review.NotHere("clip 1"))
		var p Problem
		if err := json.Unmarshal(rec.Body.Bytes(), &p); err != nil {
			t.Fatal(err)
		}
		if rec.Code != 404 || rec.Header().Get("Content-Type") != "application/problem+json" || p.Status != 404 ||
			p.Instance != "/v1/things/a%20b" {
			t.Errorf("got %d %s %+v", rec.Code, rec.Header(), p)
		}
		if log != "" {
			t.Errorf("a caller's mistake is logged as the server's: %s", log)
		}
	})
	t.Run("says nothing of an inner error and logs it with the operation", func(t *testing.T) {
		rec, log := answer("GET", errors.New("sector 9 of /var/secret"))
		if rec.Code != 500 || strings.Contains(rec.Body.String(), "sector") {
			t.Errorf("got %d %s", rec.Code, rec.Body)
		}
		if !strings.Contains(log, "sector 9") || !strings.Contains(log, "/v1/things/:thing") {
			t.Errorf("got log %q, want the error and the operation", log)
		}
	})
	t.Run("asks for a token in the header", func(t *testing.T) {
		rec, _ := answer("GET", pairing.ErrRevoked)
		if got := rec.Header().Get("WWW-Authenticate"); rec.Code != 401 || !strings.HasPrefix(got, "DPoP ") || !strings.Contains(got, "Bearer ") {
			t.Errorf("got %d, WWW-Authenticate %q", rec.Code, got)
		}
	})
	t.Run("says when to try again", func(t *testing.T) {
		rec, _ := answer("GET", &pairing.TooMany{After: 1500 * time.Millisecond})
		if got := rec.Header().Get("Retry-After"); rec.Code != http.StatusTooManyRequests || got != "2" {
			t.Errorf("got %d, Retry-After %q, want 429 and 2", rec.Code, got)
		}
	})
	t.Run("answers HEAD without a body", func(t *testing.T) {
		rec, _ := answer("HEAD", review.NotHere("clip 1"))
		if rec.Code != 404 || rec.Body.Len() != 0 {
			t.Errorf("got %d with %d bytes, want 404 with none", rec.Code, rec.Body.Len())
		}
	})
}
