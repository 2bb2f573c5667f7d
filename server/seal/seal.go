package seal

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"

	"filippo.io/age"
)

// ErrPassphrase says that a passphrase does not open a file.
var ErrPassphrase = errors.New("the passphrase does not open it")

// A passphrase is drawn, not thought up: 20 letters that are easy to read out and spell no
// words are 86 bits.
const (
	letters = "BCDFGHJKLMNPQRSTVWXZ"
	length  = 20
	group   = 4
)

// workFactor is the exponent of scrypt's cost: 32 MiB. A passphrase of 86 bits that was drawn
// needs no more, and a small machine on a set has not got more.
const workFactor = 15

// Draw draws a passphrase, in groups such as BCDF-GHJK-LMNP-QRST-VWXZ.
func Draw() string {
	plain := make([]byte, 0, length)
	const fair = 256 - 256%len(letters) // beyond it some letters would come more often
	for len(plain) < length {
		var b [1]byte
		_, _ = rand.Read(b[:]) // never fails: it ends the program where the system has no chance to give
		if int(b[0]) < fair {
			plain = append(plain, letters[int(b[0])%len(letters)])
		}
	}
	return grouped(string(plain))
}

func grouped(plain string) string {
	var out []string
	for ; len(plain) > group; plain = plain[group:] {
		out = append(out, plain[:group])
	}
	return strings.Join(append(out, plain), "-")
}

// asDrawn takes out what people put between letters, and writes it as Draw did.
func asDrawn(typed string) string {
	return grouped(strings.Map(func(r rune) rune {
		if r == '-' || unicode.IsSpace(r) {
			return -1
		}
		return unicode.ToUpper(r)
	}, typed))
}

// Write writes what is sealed with a passphrase that Draw made.
func Write(w io.Writer, passphrase string, what []byte) error {
	to, err := age.NewScryptRecipient(asDrawn(passphrase))
	if err != nil {
		return err
	}
	to.SetWorkFactor(workFactor)
	sealed, err := age.Encrypt(w, to)
	if err != nil {
		return err
	}
	if _, err := sealed.Write(what); err != nil {
		return err
	}
	return sealed.Close()
}

// most is what a sealed file may hold.
const most = 1 << 20

// Read opens what Write wrote; small letters and blanks in the passphrase do not matter. The error
// wraps ErrPassphrase where it is another one.
func Read(r io.Reader, passphrase string) ([]byte, error) {
	if passphrase = asDrawn(passphrase); passphrase == "" {
		return nil, fmt.Errorf("%w: it is empty", ErrPassphrase)
	}
	by, err := age.NewScryptIdentity(passphrase)
	if err != nil {
		return nil, err
	}
	opened, err := age.Decrypt(r, by)
	var other *age.NoIdentityMatchError
	if errors.As(err, &other) {
		return nil, ErrPassphrase
	}
	if err != nil {
		return nil, err
	}
	return io.ReadAll(io.LimitReader(opened, most))
}
