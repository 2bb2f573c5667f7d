package api

import (
	"io"
	"net/http"
	"testing"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

func TestAnEmptyLogSaysThatItHoldsNothing(t *testing.T) {
	s := openSite(t)
	owner := s.admit(pairing.Owner, "desk", logbook.ID{})
	production := drawID()
	if err := s.store.Begin(production, drawLine()); err != nil {
		t.Fatal(err)
	}
	r := owner.ask("POST", "/v1/productions/"+production.String()+"/exchange", `{}`).want(200)
	if r.at("list") != "{}" {
		t.Errorf("got the list %q, want an empty one: without it no device offers what the log lost", r.at("list"))
	}
	run, _ := r.at("run").Text()
	if r = owner.ask("POST", "/v1/productions/"+production.String()+"/exchange", `{"run":"`+run+`"}`).want(200); r.at("list") != "" {
		t.Errorf("got the list %s though the run was known", r.at("list"))
	}
}

// Whoever holds a request open must not bring edits with it after the device was
// revoked.
func TestADeviceThatIsRevokedWhileItSendsIsRefused(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	before := g.head()
	body := `{"edits":[` + g.edit(lineOfOne, 1, "clip", "$clip", `{"lens":"50"}`) + `]}`
	from, to := io.Pipe()
	request, err := http.NewRequest("POST", g.url+g.base+"/exchange", from)
	if err != nil {
		t.Fatal(err)
	}
	phone.show(request)
	request.Header.Set("Content-Type", "application/json")
	request.Header.Set("Expect", "100-continue") // answered once the service reads the body: then the caller is known
	transport := http.DefaultTransport.(*http.Transport).Clone()
	transport.ExpectContinueTimeout = time.Hour
	t.Cleanup(transport.CloseIdleConnections)
	sent := make(chan error, 1)
	go func() {
		_, err := io.WriteString(to, body[:10])
		if err == nil {
			err = g.auth.Revoke(phone.device, true)
		}
		if err == nil {
			_, err = io.WriteString(to, body[10:])
		}
		_ = to.CloseWithError(err)
		sent <- err
	}()
	response, err := transport.RoundTrip(request)
	if err != nil {
		t.Fatal(err)
	}
	_ = response.Body.Close()
	if err := <-sent; err != nil {
		t.Fatal(err)
	}
	if response.StatusCode != 401 {
		t.Errorf("got %d, want 401", response.StatusCode)
	}
	if g.head() != before {
		t.Error("an edit of a revoked device was taken")
	}
}

func TestTheTimeOfAnExchangeIsToldInMilliseconds(t *testing.T) {
	g := setStage(t)
	g.clock.move(123_456_789) // nanoseconds
	now := g.ask("POST", g.base+"/exchange", `{}`).want(200).text("now")
	if want := g.clock.now().UTC().Truncate(time.Millisecond).Format(time.RFC3339Nano); now != want {
		t.Errorf("got %s, want %s", now, want)
	}
}
