package seal

import (
	"bytes"
	"errors"
	"regexp"
	"strings"
	"testing"
)

func TestAPassphraseIsDrawnEachTime(t *testing.T) {
	form := regexp.MustCompile(`^([BCDFGHJKLMNPQRSTVWXZ]{4}-){4}[BCDFGHJKLMNPQRSTVWXZ]{4}$`)
	drawn := map[string]bool{}
	for range 100 {
		p := Draw()
		if !form.MatchString(p) || drawn[p] {
			t.Fatalf("drew %q", p)
		}
		drawn[p] = true
	}
}

func TestWhatIsSealedIsOpenedByItsPassphraseAlone(t *testing.T) {
	passphrase := Draw()
	secret := []byte(strings.Repeat("a key ", 500))
	var sealed bytes.Buffer
	if err := Write(&sealed, passphrase, secret); err != nil {
		t.Fatal(err)
	}
	whole := sealed.Bytes()
	if bytes.Contains(whole, []byte("a key")) || !bytes.HasPrefix(whole, []byte("age-encryption.org/v1\n-> scrypt ")) {
		t.Errorf("got %q", whole)
	}
	typed := strings.ToLower(strings.ReplaceAll(passphrase, "-", " ")) + "\n"
	if got, err := Read(bytes.NewReader(whole), typed); err != nil || !bytes.Equal(got, secret) {
		t.Errorf("got %d bytes (%v), want %d", len(got), err, len(secret))
	}
	for _, other := range []string{Draw(), passphrase[1:], ""} {
		if _, err := Read(bytes.NewReader(whole), other); !errors.Is(err, ErrPassphrase) {
			t.Errorf("%q: got %v", other, err)
		}
	}
	damaged := bytes.Clone(whole)
	damaged[len(damaged)-1] ^= 1
	for name, b := range map[string][]byte{"damaged": damaged, "cut": whole[:len(whole)-9], "empty": nil, "something else": []byte("a key")} {
		if got, err := Read(bytes.NewReader(b), passphrase); err == nil || errors.Is(err, ErrPassphrase) {
			t.Errorf("%s: got %d bytes (%v)", name, len(got), err)
		}
	}
}
