//go:build studio

package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook/etcd/etcdtest"
)

// An issuer makes certificates for a test.
type issuer struct {
	t    *testing.T
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

func newIssuer(t *testing.T, name string) *issuer {
	t.Helper()
	i := &issuer{t: t}
	i.cert, i.key = i.make(&x509.Certificate{Subject: pkix.Name{CommonName: name}, IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageCertSign, NotAfter: time.Now().Add(time.Hour)})
	return i
}

func (i *issuer) make(c *x509.Certificate) (*x509.Certificate, *ecdsa.PrivateKey) {
	i.t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		i.t.Fatal(err)
	}
	c.SerialNumber, c.NotBefore = big.NewInt(time.Now().UnixNano()), time.Now().Add(-2*time.Hour)
	above, by := i.cert, i.key
	if above == nil {
		above, by = c, key
	}
	der, err := x509.CreateCertificate(rand.Reader, c, above, key.Public(), by)
	if err == nil {
		c, err = x509.ParseCertificate(der)
	}
	if err != nil {
		i.t.Fatal(err)
	}
	return c, key
}

// write writes a certificate of this machine that runs out after so long, with its key.
func (i *issuer) write(folder, name string, life time.Duration) {
	i.t.Helper()
	c, key := i.make(&x509.Certificate{Subject: pkix.Name{CommonName: name}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth},
		KeyUsage:    x509.KeyUsageDigitalSignature, NotAfter: time.Now().Add(life)})
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		i.t.Fatal(err)
	}
	i.writePEM(filepath.Join(folder, name+".pem"), "CERTIFICATE", c.Raw)
	i.writePEM(filepath.Join(folder, name+".key"), "PRIVATE KEY", der)
}

func (i *issuer) writePEM(file, kind string, der []byte) {
	i.t.Helper()
	if err := os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o600); err != nil {
		i.t.Fatal(err)
	}
}

// TestAStudioIsLetIntoEtcd has a studio enter an etcd that asks for a certificate, a user and a password. What is refused
// at the start is said at once; what is refused later is a state that ends by itself.
func TestAStudioIsLetIntoEtcd(t *testing.T) {
	folder := t.TempDir()
	at := func(name string) string { return filepath.Join(folder, name) }
	ca, other := newIssuer(t, "machines"), newIssuer(t, "others")
	ca.writePEM(at("ca.pem"), "CERTIFICATE", ca.cert.Raw)
	other.writePEM(at("others.pem"), "CERTIFICATE", other.cert.Raw)
	for _, name := range []string{"server", "root", "cart"} {
		ca.write(folder, name, time.Hour)
	}
	ca.write(folder, "over", -time.Hour)
	other.write(folder, "strange", time.Hour)
	for name, text := range map[string]string{"password": "grey card\n", "wrong": "white card\n", "empty": "\n"} {
		if err := os.WriteFile(at(name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	etcd := etcdtest.StartLocked(t, folder)
	etcd.Users("grey card")
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		t.Fatal(err)
	}
	enter := func(ca, cert, user, password string) (options []string) {
		options = []string{"--store", "etcd://" + etcd.Address, "--prefix", "studio", "--backup-every", "0"}
		for name, value := range map[string]string{"ca": ca, "cert": cert, "key": strings.TrimSuffix(cert, ".pem"), "password": password} {
			if value != "" && name == "key" {
				value += ".key"
			}
			if value != "" {
				options = append(options, "--store-"+name, at(value))
			}
		}
		if user != "" {
			options = append(options, "--store-user", user)
		}
		return options
	}

	t.Run("what is refused at the start is said", func(t *testing.T) {
		for _, one := range []struct{ ca, cert, user, password, says string }{
			{"ca.pem", "", "", "", "tls: bad certificate"},
			{"ca.pem", "over.pem", "studio", "password", "tls: bad certificate"},
			{"ca.pem", "strange.pem", "studio", "password", "tls: bad certificate"},
			{"others.pem", "cart.pem", "studio", "password", "certificate signed by unknown authority"},
			{"", "", "studio", "password", "does it speak TLS alone?"},
			{"ca.pem", "cart.pem", "studio", "wrong", "invalid user ID or password"},
			{"ca.pem", "cart.pem", "", "", "permission denied"},
			{"ca.pem", "cart.pem", "studio", "empty", "is empty"},
			{"ca.pem", "cart.pem", "studio", "", "belong together"},
			{"password", "cart.pem", "studio", "password", "no certificate in PEM"},
		} {
			out, err := exec.Command(program, append([]string{"serve", "--listen", "127.0.0.1:0", "--data", filepath.Join(t.TempDir(), "data")},
				enter(one.ca, one.cert, one.user, one.password)...)...).CombinedOutput()
			if err == nil || !strings.Contains(string(out), one.says) || !strings.Contains(string(out), "--store-") {
				t.Errorf("%+v: %v: %s", one, err, out)
			}
		}
	})

	c := &crash{t: t, program: program, folder: filepath.Join(t.TempDir(), "data"), options: enter("ca.pem", "cart.pem", "studio", "password")}
	c.changed.L = &c.mu
	c.start()
	t.Cleanup(c.kill)
	_, owner := c.pair(c.code)
	made := c.call(owner, "/v1/productions", `{"title":"Three Doors","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"based5500"}`)
	production := c.address() + "/v1/productions/" + made["id"].(string)
	days := 0
	log := func() (int, http.Header, string) {
		return owner.ask(t, "POST", production+"/records/day", fmt.Sprintf(`{"date":"2031-03-04","number":%d}`, days+1))
	}
	works := func(t *testing.T) {
		t.Helper()
		awaits(t, "a change that is taken", func() bool {
			status, _, _ := log()
			return status == http.StatusCreated
		})
		days++
		_, seen, list := owner.ask(t, "GET", production+"/records/day", "")
		if n := strings.Count(list, `"number"`); n != days || seen.Get("Evenwhite-As-Of") != "" {
			t.Errorf("of %d days %d are there, as of %q: %s", days, n, seen.Get("Evenwhite-As-Of"), list)
		}
	}
	refuses := func(t *testing.T, says string) {
		t.Helper()
		awaits(t, "a state that says so", func() bool {
			status, seen, _ := owner.ask(t, "GET", production+"/records/day", "")
			_, _, ready := owner.ask(t, "GET", c.address()+"/readyz", "")
			return status == http.StatusOK && seen.Get("Evenwhite-As-Of") != "" && strings.Contains(ready, says)
		})
		if status, seen, said := log(); status != http.StatusServiceUnavailable || seen.Get("Retry-After") == "" {
			t.Errorf("a change is answered %d, Retry-After %q: %s", status, seen.Get("Retry-After"), said)
		}
	}
	swap := func(t *testing.T, name, with string) {
		t.Helper()
		for _, ending := range []string{".pem", ".key"} {
			b, err := os.ReadFile(at(with + ending))
			if err == nil {
				err = os.WriteFile(at(name+ending), b, 0o600)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	works(t)
	for _, name := range []string{"cart", "server"} {
		ca.write(folder, "good "+name, time.Hour)
		t.Run("the certificate of "+name+" runs out", func(t *testing.T) {
			swap(t, name, "over")
			etcd.Kill()
			etcd.Start()
			refuses(t, map[string]string{"cart": "tls: bad certificate", "server": "certificate has expired"}[name])
			swap(t, name, "good "+name)
			works(t)
		})
	}
	t.Run("the role has no right any more", func(t *testing.T) {
		etcd.Forbid()
		refuses(t, "permission denied")
		etcd.Allow()
		works(t)
	})
	t.Run("the password is another", func(t *testing.T) {
		etcd.Password("white card")
		refuses(t, "invalid user ID or password")
		etcd.Password("grey card")
		works(t)
	})
}
