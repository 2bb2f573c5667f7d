package link

import (
	"bytes"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
)

var (
	night = logbook.ID{1}
	day   = logbook.ID{2}
)

// A shelf is a store with links and a clock that stands.
type shelf struct {
	*testing.T
	store *logbook.Memory
	at    time.Time
	*Links
}

func open(t *testing.T) *shelf {
	s := &shelf{T: t, store: logbook.NewMemory(), at: time.Date(2031, 3, 4, 6, 30, 0, 0, time.UTC)}
	s.reopen("the key")
	return s
}

func (s *shelf) reopen(key string) {
	s.Helper()
	var err error
	if s.Links, err = Open(s.store, []byte(key), func() time.Time { return s.at }); err != nil {
		s.Fatal(err)
	}
}

func (s *shelf) made(production logbook.ID) (Link, string) {
	s.Helper()
	one, secret, err := s.Make(Wish{Production: production, Format: "csv", Label: "the lab", By: "DIT", ExpiresAt: s.at.Add(time.Hour)})
	if err != nil {
		s.Fatal(err)
	}
	return one, secret
}

func (s *shelf) refused(secret, why string) {
	s.Helper()
	if one, err := s.Use(secret); !errors.Is(err, ErrOver) || !strings.Contains(err.Error(), why) {
		s.Errorf("got %+v and %v, want it %s", one, err, why)
	}
}

func TestALinkIsCountedAndKept(t *testing.T) {
	s := open(t)
	one, secret := s.made(night)
	for i := range 3 {
		used, err := s.Use(secret)
		if err != nil || used.ID != one.ID || used.Downloads != i+1 || !used.LastAt.Equal(s.at) {
			t.Fatalf("use %d: got %+v, %v", i, used, err)
		}
	}
	s.reopen("the key")
	if list := s.Of(night); len(list) != 1 || list[0].Downloads != 3 || list[0].Label != "the lab" || s.Over(list[0]) != "" {
		t.Errorf("after a restart: %+v", list)
	}
	if len(s.Of(day)) != 0 {
		t.Error("another production has it too")
	}
}

func TestALinkThatIsOverLetsNobodyIn(t *testing.T) {
	s := open(t)
	one, secret := s.made(night)
	_, other := s.made(night)
	s.refused(secret+"A", "not whole")
	s.refused("", "not whole")
	if err := s.Revoke(day, one.ID); !errors.Is(err, ErrNone) {
		t.Errorf("by the owner of another production: %v", err)
	}
	for range 2 {
		if err := s.Revoke(night, one.ID); err != nil {
			t.Fatal(err)
		}
	}
	s.refused(secret, "revoked")
	s.reopen("the key")
	s.refused(secret, "revoked")
	if _, err := s.Use(other); err != nil {
		t.Errorf("another link: %v", err)
	}
	s.at = s.at.Add(time.Hour)
	s.refused(other, "expired")
}

func TestALinkIsVoidUnderAnotherKeyAsAfterARestore(t *testing.T) {
	s := open(t)
	_, secret := s.made(night)
	s.reopen("another key")
	s.refused(secret, "not whole")
	if list := s.Of(night); len(list) != 1 || s.Over(list[0]) != "void" {
		t.Errorf("got %+v", list)
	}
}

func TestNoSecretIsKept(t *testing.T) {
	s := open(t)
	_, secret := s.made(night)
	values, err := s.store.KeptUnder("")
	if err != nil || len(values) == 0 {
		t.Fatalf("%v: %v", values, err)
	}
	for _, v := range values {
		if bytes.Contains(v.Value, []byte(secret)) {
			t.Errorf("%s holds it", v.Name)
		}
	}
	if len(secret) < 22 {
		t.Errorf("the secret %q has fewer than 128 bits", secret)
	}
}

func TestTheOldestThatIsOverMakesRoom(t *testing.T) {
	s := open(t)
	first, _ := s.made(night)
	for range most - 1 {
		s.at = s.at.Add(time.Second)
		s.made(night)
	}
	if _, _, err := s.Make(Wish{Production: night, ExpiresAt: s.at.Add(time.Hour)}); !errors.Is(err, ErrMany) {
		t.Fatalf("one too many: %v", err)
	}
	s.made(day)
	if err := s.Revoke(night, first.ID); err != nil {
		t.Fatal(err)
	}
	s.made(night)
	if list := s.Of(night); len(list) != most || list[most-1].ID == first.ID {
		t.Errorf("%d are kept, the last is %v", len(list), list[most-1].ID)
	}
	if values, err := s.store.KeptUnder(kept); err != nil || len(values) != most+1 {
		t.Errorf("%d are stored (%v)", len(values), err)
	}
}

func TestUsesAtOnceAreAllCounted(t *testing.T) {
	s := open(t)
	_, secret := s.made(night)
	var all sync.WaitGroup
	for range 50 {
		all.Go(func() {
			if _, err := s.Use(secret); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	if got := s.Of(night)[0].Downloads; got != 50 {
		t.Errorf("got %d, want 50", got)
	}
}
