package main

import (
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenwhite/server/lan/lantest"
)

// doctorOn runs evenwhite doctor on a host; its words must match each pattern. It ends with
// status 0 exactly when nothing is in trouble.
func doctorOn(t *testing.T, h *lantest.Host, data string, patterns ...string) {
	t.Helper()
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		t.Fatal(err)
	}
	out, err := h.Command(program, "doctor", "--data", data).CombinedOutput()
	for _, p := range patterns {
		if !regexp.MustCompile("(?m)" + p).Match(out) {
			t.Errorf("it does not say %q:\n%s", p, out)
		}
	}
	if trouble := strings.Contains(string(out), "TROUBLE"); trouble != (err != nil) {
		t.Errorf("it ended with %v:\n%s", err, out)
	}
}

func TestTheDoctorSeesTheNetwork(t *testing.T) {
	cart, phone := lantest.Pair(t, 1, withoutNetworks)
	cart.Has("e0", "10.9.8.1/24")
	cart.Has("e0", "fd00:9::1/64")
	phone.Has("e0", "10.9.8.2/24")
	_, switchOff := phone.StartResponder("phone")
	data := filepath.Join(t.TempDir(), "data")
	_, stop := serveOn(t, cart, data, "--name", "set7")
	doctorOn(t, cart, data,
		`^well +server +process \d+ serves https://set7.local:8443 and http://127.0.0.1:8480$`,
		`^well +name +set7.local is told as 10.9.8.1, fd00:9::1, and by nobody else$`,
		`^well +multicast +it goes out and comes in on e0; heard from others too: 10.9.8.2$`,
		`^well +port +answers at 10.9.8.1:8443, 10.9.8.1:8480, `, `open http://10.9.8.1:8480 on it$`,
		`^well +certificate +shown until \d{4}`, `^well +clock`, `^well +disk`, `^well +folder`, `^well +backup`)

	for _, chain := range []string{"OUTPUT", "INPUT"} {
		cart.Run("iptables", "-A", chain, "-d", "224.0.0.0/4", "-j", "DROP")
		doctorOn(t, cart, data, `^TROUBLE +multicast`, `A phone: its browser says that the server cannot be found`, `To do: let UDP port 5353`)
		cart.Run("iptables", "-F", chain)
	}
	cart.Run("ip", "link", "set", "e0", "multicast", "off")
	doctorOn(t, cart, data, `^TROUBLE +multicast +multicast is switched off on e0$`, `To do: switch it on: ip link set e0 multicast on$`)
	cart.Run("ip", "link", "set", "e0", "multicast", "on")

	stop()
	doctorOn(t, cart, data, `^well +server +none runs`, `^well +name +nobody tells set7.local`, `^well +port +8443 is free$`)
	cart.Run("ip", "link", "set", "e0", "down")
	doctorOn(t, cart, data, `^TROUBLE +multicast +no network interface is up`)
	cart.Run("ip", "link", "set", "e0", "up")

	switchOff()
	phone.StartResponder("set7") // while nobody has the name
	doctorOn(t, cart, data, `^TROUBLE +name +another device, 10.9.8.2, calls itself set7.local$`, `A phone: it may reach that one`)
}
