package main

import (
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/server/lan/lantest"
)

// A server starts on a machine that has no network yet, only link-local addresses of IPv6; it gets
// three, loses one, and gets that back elsewhere. All the while it is one server.
func TestTheCertificateFollowsTheAddressesOfTheMachine(t *testing.T) {
	here, phone := lantest.Pair(t, 3, "The leaf that follows is tested without a network in server/lan/authority.")
	program, err := exec.LookPath("evenwhite")
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	data, root := filepath.Join(folder, "data"), filepath.Join(folder, "root.pem")
	said, stop := here.Start(program, "serve", "--data", data, "--name", "set7")
	here.Until("the server is ready", func() bool { return strings.Contains(said(), readyLine) })
	if !strings.Contains(said(), "no private address on a network") {
		t.Error("it does not say that no phone can reach it")
	}
	a, err := readAuthority(data, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(root, a.RootPEM(), 0o600); err != nil {
		t.Fatal(err)
	}
	curl := func(words ...string) (string, error) {
		out, err := phone.Command("curl", append([]string{"-sS", "--max-time", "5", "--cacert", root}, words...)...).CombinedOutput()
		return string(out), err
	}
	reached := func(url string, words ...string) {
		t.Helper()
		phone.Until(url+" is trusted", func() bool {
			out, err := curl(append(words, url+"/healthz")...)
			return err == nil && strings.Contains(out, `"ok"`)
		})
	}

	phone.Has("e0", "10.0.0.2/24")
	phone.Has("e1", "192.168.7.2/24")
	phone.Has("e2", "fd00::2/64")
	here.Has("e0", "10.0.0.1/24")
	here.Has("e1", "192.168.7.1/24")
	here.Has("e2", "fd00::1/64")
	for _, at := range []string{"10.0.0.1", "192.168.7.1", "[fd00::1]"} {
		reached("https://" + at + ":8443")
		reached("https://set7.local:8443", "--resolve", "set7.local:8443:"+strings.Trim(at, "[]"))
	}

	here.HasNot("e0", "10.0.0.1/24")
	reached("https://192.168.7.1:8443")
	here.Has("e0", "10.0.0.9/24")
	reached("https://10.0.0.9:8443")
	reached("https://set7.local:8443", "--resolve", "set7.local:8443:10.0.0.9")
	if out, err := curl("--connect-to", "10.0.0.1:8443:10.0.0.9:8443", "https://10.0.0.1:8443/healthz"); err == nil {
		t.Errorf("the certificate still names the address that was lost: %s", out)
	}

	// Whoever is not at the machine gets nothing of the data without TLS.
	if out, _ := curl("-o", os.DevNull, "-w", "%{http_code}", "http://10.0.0.9:8480/v1/productions"); out != "404" && out != "421" {
		t.Errorf("plainly, a phone that asks for productions is answered %s", out)
	}
	stop()
}
