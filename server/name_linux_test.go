package main

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/server/lan/lantest"
)

// withoutNetworks is what is tested where the system lets nobody make networks.
const withoutNetworks = "Telling the name is tested by sockets on the loopback interface (server/lan/name), starting by origin.txtar"

// serveOn starts a server on a host of a small network. It is stopped by stop, or else when
// the test ends.
func serveOn(t *testing.T, h *lantest.Host, data string, options ...string) (said string, stop func()) {
	t.Helper()
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		t.Fatal(err)
	}
	server := h.Command(program, append([]string{"serve", "--data", data}, options...)...)
	server.Stderr = t.Output()
	out, err := server.StdoutPipe()
	if err == nil {
		err = server.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	stop = sync.OnceFunc(func() {
		_ = server.Process.Signal(os.Interrupt)
		timer := time.AfterFunc(time.Minute, func() { _ = server.Process.Kill() })
		defer timer.Stop()
		if err := server.Wait(); err != nil {
			t.Errorf("the server ended with %v", err)
		}
	})
	t.Cleanup(stop)
	var text bytes.Buffer
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		fmt.Fprintln(&text, lines.Text())
		if lines.Text() == readyLine {
			go drain(lines, make(chan struct{}))
			return text.String(), stop
		}
	}
	t.Fatalf("the server ended before it was ready: %s", &text)
	return "", nil
}

// A cart on which a server is to run, and a phone on one network with it, whose system
// finds names.
func cartAndPhone(t *testing.T) (cart, phone *lantest.Host) {
	t.Helper()
	cart, phone = lantest.Pair(t, 1, withoutNetworks)
	for i, h := range []*lantest.Host{cart, phone} {
		h.Has("e0", fmt.Sprintf("10.9.8.%d/24", i+1))
		h.Has("e0", fmt.Sprintf("fd00:9::%d/64", i+1))
	}
	phone.StartResponder("phone")
	return cart, phone
}

func TestAPhoneFindsAndTrustsTheServerWhereverItIs(t *testing.T) {
	cart, phone := cartAndPhone(t)
	data, root := filepath.Join(t.TempDir(), "data"), filepath.Join(t.TempDir(), "root.pem")
	const health, origin = "https://set7.local:8443/healthz", "https://set7.local:8443"
	said, stop := serveOn(t, cart, data, "--name", "set7")
	if !strings.Contains(said, origin+"\n") {
		t.Errorf("it does not say %s: %s", origin, said)
	}
	phone.Run("curl", "-sSf", "-o", root, "http://10.9.8.1:8480/root.pem")
	phone.Run("curl", "-sSf", "--cacert", root, health)
	if out, err := phone.Command("curl", "-sS", health).CombinedOutput(); err == nil {
		t.Errorf("without the root it is trusted: %s", out)
	}
	pem, err := os.ReadFile(root)
	if err != nil {
		t.Fatal(err)
	}

	cart.HasNot("e0", "10.9.8.1/24") // while it runs
	cart.Has("e0", "10.9.8.71/24")
	phone.Until("the certificate names the new address", func() bool {
		return phone.Command("curl", "-sSf", "--cacert", root, "https://10.9.8.71:8443/healthz").Run() == nil
	})
	phone.Run("curl", "-sSf", "-4", "--cacert", root, health)

	stop()
	cart.HasNot("e0", "10.9.8.71/24") // while it does not
	cart.HasNot("e0", "fd00:9::1/64")
	cart.Has("e0", "10.9.8.72/24")
	cart.Has("e0", "fd00:9::72/64")
	if said, _ = serveOn(t, cart, data); !strings.Contains(said, origin+"\n") {
		t.Errorf("it does not come back as %s: %s", origin, said)
	}
	phone.Run("curl", "-sSf", "--cacert", root, health)
	if again := phone.Run("curl", "-sSf", "http://10.9.8.72:8480/root.pem"); again != string(pem) {
		t.Error("the root is another one")
	}
}

func TestATakenNameEndsAStart(t *testing.T) {
	cart, other := lantest.Pair(t, 1, withoutNetworks)
	cart.Has("e0", "10.9.8.1/24")
	other.Has("e0", "10.9.8.2/24")
	other.StartResponder("set7")
	data := filepath.Join(t.TempDir(), "data")
	program, err := exec.LookPath("evenwhite")
	if err != nil {
		t.Fatal(err)
	}
	out, err := cart.Command(program, "serve", "--data", data, "--name", "set7").CombinedOutput()
	for _, want := range []string{
		"the name set7.local is taken on this network by another device, 10.9.8.2", "Nothing was changed",
		"hint: nobody here is called set7-2: evenwhite serve --name set7-2\n",
	} {
		if err == nil || !strings.Contains(string(out), want) {
			t.Errorf("it ended with %v and said %q, want %q", err, out, want)
		}
	}
	_, stop := serveOn(t, cart, data, "--name", "set7-2") // nothing of the refused one was kept
	stop()
	_, stop = serveOn(t, cart, data, "--name", "set7", "--rename", "--no-mdns")
	stop()
	out, err = cart.Command(program, "serve", "--data", data).CombinedOutput()
	if want := "hint: switch the other device off"; err == nil || !strings.Contains(string(out), want) {
		t.Errorf("it ended with %v and said %q, want %q", err, out, want)
	}
}

func TestTwoServersOfOneNameThatMeetSayIt(t *testing.T) {
	cart, other := lantest.Pair(t, 1, withoutNetworks)
	both := []*lantest.Host{cart, other}
	data := []string{filepath.Join(t.TempDir(), "data"), filepath.Join(t.TempDir(), "data")}
	for i, h := range both { // neither hears the other yet
		h.Has("e0", fmt.Sprintf("10.9.8.%d/24", i+1))
		h.Run("iptables", "-A", "INPUT", "-i", "e0", "-j", "DROP")
		h.Run("ip6tables", "-A", "INPUT", "-i", "e0", "-j", "DROP")
		serveOn(t, h, data[i], "--name", "set7")
	}
	for _, h := range both {
		h.Run("iptables", "-F")
		h.Run("ip6tables", "-F")
	}
	cart.Has("e0", "10.9.8.71/24") // as when it comes to another network
	for i, rival := range []string{"10.9.8.2", "10.9.8.1 and 10.9.8.71"} {
		want := "another device on this network, " + rival + ", calls itself set7.local as well"
		both[i].Until("readyz says that "+want, func() bool {
			return strings.Contains(both[i].Run("curl", "-sS", "http://127.0.0.1:8480/readyz"), want)
		})
		doctorOn(t, both[i], data[i], `^TROUBLE +name +another device, 10.9.8.`)
	}
}

func TestAServerStartsWhereThePortOfNamesIsHeld(t *testing.T) {
	cart, _ := lantest.Pair(t, 1, withoutNetworks)
	cart.Has("e0", "10.9.8.1/24")
	cart.HoldPort(5353)
	data := filepath.Join(t.TempDir(), "data")
	serveOn(t, cart, data, "--name", "set7")
	const want = "devices do not find this server as set7.local: port 5353, where names are told, is held by a program"
	if ready := cart.Run("curl", "-sS", "http://127.0.0.1:8480/readyz"); !strings.Contains(ready, want) {
		t.Errorf("readyz says %s, want %q", ready, want)
	}
	doctorOn(t, cart, data, `^TROUBLE +name +`+want, `A phone: its browser says that the server cannot be found`, `To do: as it says$`)
}
