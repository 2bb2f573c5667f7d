package name

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"evenwhite/server/lan"
	"evenwhite/server/lan/lantest"
)

// instead is what is tested where the system lets nobody make networks.
const instead = "The same is tested by sockets on the loopback interface, without a system that finds names: loopback_test.go"

// tellIn has this test's own binary tell a name until its input ends: see TestMain.
const tellIn = "EVENWHITE_TEST_TELL"

func TestMain(m *testing.M) {
	if label := os.Getenv(tellIn); label != "" {
		tell(label)
		return
	}
	os.Exit(m.Run())
}

// tell is a program that tells a name and says what becomes of it, a line each. It looks at
// its interfaces again at each line that it reads, and ends with its input.
func tell(label string) {
	log := slog.New(slog.NewTextHandler(os.Stderr, nil))
	teller, err := Claim(context.Background(), Config{label, linksHere(), log})
	var taken *Taken
	if errors.As(err, &taken) {
		fmt.Println("taken by", join(taken.By), "try", taken.Proposal)
		return
	}
	if err != nil {
		fmt.Println("failed:", err)
		return
	}
	fmt.Println("told")
	for in := bufio.NewScanner(os.Stdin); in.Scan(); {
		if in.Text() == "move" {
			teller.Move(linksHere())
		}
		fmt.Println(strings.Join(append([]string{"warnings:"}, teller.Warnings()...), " "))
	}
	teller.Stop()
}

// linksHere are the interfaces that are up, as the server tells them.
func linksHere() (list []Link) {
	all, err := lan.Interfaces()
	if err != nil {
		panic(err)
	}
	for _, i := range all {
		list = append(list, Link(i))
	}
	return list
}

// A program is one that runs tell on a host.
type program struct {
	t    testing.TB
	in   io.WriteCloser
	out  *bufio.Reader
	wait func() error
}

func tellOn(t testing.TB, h *lantest.Host, label string) *program {
	t.Helper()
	own, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := h.Command("env", tellIn+"="+label, own)
	c.Stderr = t.Output()
	in, err := c.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	p := &program{t, in, bufio.NewReader(out), c.Wait}
	t.Cleanup(func() { _ = in.Close(); _ = c.Wait() })
	return p
}

// says reads the next line.
func (p *program) says() string {
	p.t.Helper()
	line, err := p.out.ReadString('\n')
	if err != nil {
		p.t.Fatal(err)
	}
	return strings.TrimSuffix(line, "\n")
}

func (p *program) must(say string) {
	p.t.Helper()
	if got := p.says(); got != say {
		p.t.Fatalf("it says %q, want %q", got, say)
	}
}

// ask writes a line and returns what it says to it.
func (p *program) ask(line string) string {
	p.t.Helper()
	if _, err := fmt.Fprintln(p.in, line); err != nil {
		p.t.Fatal(err)
	}
	return p.says()
}

func (p *program) stop() {
	p.t.Helper()
	_ = p.in.Close()
	if err := p.wait(); err != nil {
		p.t.Fatal(err)
	}
}

// becomes waits until a system finds a name at these addresses and no others, and tells
// how long that took.
func becomes(t testing.TB, h *lantest.Host, name string, want ...string) {
	t.Helper()
	begun := time.Now()
	for {
		var got []string
		for _, a := range h.Find(name) {
			got = append(got, a.String())
		}
		if slices.Equal(got, want) {
			break
		}
		if time.Since(begun) > time.Minute {
			t.Fatalf("after a minute %s is found at %v, want %v", name, got, want)
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Logf("%s was found at %v after %v", name, want, time.Since(begun).Round(time.Millisecond))
}

func TestASystemFindsTheName(t *testing.T) {
	t.Parallel()
	cart, phone := lantest.Pair(t, 1, instead)
	cart.Has("e0", "10.9.8.1/24")
	cart.Has("e0", "fd00:9::1/64")
	phone.Has("e0", "10.9.8.2/24")
	phone.Has("e0", "fd00:9::2/64")
	phone.StartResponder("phone")
	p := tellOn(t, cart, "set7")
	p.must("told")
	becomes(t, phone, "set7.local", "10.9.8.1", "fd00:9::1")

	cart.HasNot("e0", "10.9.8.1/24")
	cart.Has("e0", "10.9.8.77/24")
	if w := p.ask("move"); w != "warnings:" {
		t.Error(w)
	}
	becomes(t, phone, "set7.local", "10.9.8.77", "fd00:9::1")
	cart.HasNot("e0", "fd00:9::1/64")
	p.ask("move")
	becomes(t, phone, "set7.local", "10.9.8.77")

	p.stop()
	becomes(t, phone, "set7.local")
}

func TestANameThatASystemHasIsRefused(t *testing.T) {
	t.Parallel()
	cart, other := lantest.Pair(t, 1, instead)
	cart.Has("e0", "10.9.8.1/24")
	other.Has("e0", "10.9.8.2/24")
	other.StartResponder("set7")
	tellOn(t, cart, "set7").must("taken by 10.9.8.2 try set7-2")
	tellOn(t, cart, "set7-2").must("told")
}

func TestEachOfThreeInterfacesIsToldItsOwnAddress(t *testing.T) {
	t.Parallel()
	cart, phone := lantest.Pair(t, 3, instead)
	own := []string{"10.9.0.1/24", "10.9.1.1/24", "fd00:9::1/64"}
	theirs := []string{"10.9.0.2/24", "10.9.1.2/24", "fd00:9::2/64"}
	for i := range own {
		cart.Has(fmt.Sprint("e", i), own[i])
		phone.Has(fmt.Sprint("e", i), theirs[i])
	}
	p := tellOn(t, cart, "set7")
	p.must("told")
	for i := range own { // the phone has one network at a time
		for j := range own {
			phone.Run("ip", "link", "set", fmt.Sprint("e", j), map[bool]string{true: "up", false: "down"}[i == j])
		}
		if i == 2 {
			phone.Has("e2", theirs[2]) // going down took it away
		}
		_, stop := phone.StartResponder("phone")
		address, _, _ := strings.Cut(own[i], "/")
		becomes(t, phone, "set7.local", address)
		stop()
	}
}

func TestWhereThereIsOnlyIPv6TheNameIsFound(t *testing.T) {
	t.Parallel()
	cart, phone := lantest.Pair(t, 1, instead)
	cart.Has("e0", "fd00:9::1/64")
	phone.Has("e0", "fd00:9::2/64")
	phone.StartResponder("phone")
	p := tellOn(t, cart, "set7")
	p.must("told")
	becomes(t, phone, "set7.local", "fd00:9::1")
	cart.HasNot("e0", "fd00:9::1/64")
	if w := p.ask("move"); !strings.HasPrefix(w, "warnings: no network interface is up with an address of its own") {
		t.Errorf("with a link-local address alone it says %q", w)
	}
	becomes(t, phone, "set7.local")
}

func TestANameIsToldOnAnInterfaceThatComesUp(t *testing.T) {
	t.Parallel()
	cart, phone := lantest.Pair(t, 1, instead)
	phone.Has("e0", "10.9.8.2/24")
	phone.StartResponder("phone")
	p := tellOn(t, cart, "set7")
	p.must("told")
	cart.Has("e0", "10.9.8.1/24")
	p.ask("move")
	becomes(t, phone, "set7.local", "10.9.8.1")
}

func TestThePortIsSharedWithTheSystemsResponder(t *testing.T) {
	t.Parallel()
	cart, phone := lantest.Pair(t, 1, instead)
	cart.Has("e0", "10.9.8.1/24")
	phone.Has("e0", "10.9.8.2/24")
	cart.Has("e0", "fd00:9::1/64")
	phone.Has("e0", "fd00:9::2/64")
	cart.StartResponder("cart")
	phone.StartResponder("phone")
	p := tellOn(t, cart, "set7")
	p.must("told")
	becomes(t, phone, "set7.local", "10.9.8.1", "fd00:9::1")
	becomes(t, cart, "set7.local", "10.9.8.1", "fd00:9::1")
	if w := p.ask("warnings"); w != "warnings:" {
		t.Error(w)
	}
	p.stop()
	tellOn(t, cart, "cart").must("told") // it leads to the same machine
}

func TestASystemThatComesWithTheNameTakesAnother(t *testing.T) {
	t.Parallel()
	cart, other := lantest.Pair(t, 1, instead)
	cart.Has("e0", "10.9.8.1/24")
	other.Has("e0", "10.9.8.2/24")
	for _, h := range []*lantest.Host{cart, other} { // neither hears the other yet
		h.Run("iptables", "-A", "INPUT", "-i", "e0", "-j", "DROP")
		h.Run("ip6tables", "-A", "INPUT", "-i", "e0", "-j", "DROP")
	}
	said, _ := other.StartResponder("set7")
	p := tellOn(t, cart, "set7")
	p.must("told")
	for _, h := range []*lantest.Host{cart, other} {
		h.Run("iptables", "-F")
		h.Run("ip6tables", "-F")
	}
	p.ask("move")
	other.Until("it has another name", func() bool { return strings.Contains(said(), "Host name is set7-2.local") })
	becomes(t, other, "set7.local", "10.9.8.1")
}

func TestMulticastThatIsBlockedIsSaid(t *testing.T) {
	t.Parallel()
	cart, phone := lantest.Pair(t, 1, instead)
	cart.Has("e0", "10.9.8.1/24")
	phone.Has("e0", "10.9.8.2/24")
	cart.Run("iptables", "-A", "OUTPUT", "-d", "224.0.0.0/4", "-j", "DROP")
	p := tellOn(t, cart, "set7")
	p.must("told")
	const want = "warnings: set7.local cannot be told on e0: "
	if got := p.ask("warnings"); !strings.HasPrefix(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	cart.Run("iptables", "-F", "OUTPUT")
	if got := p.ask("move"); got != "warnings:" {
		t.Errorf("it is let through again: %q", got)
	}
}

func TestAPortThatIsHeldIsSaid(t *testing.T) {
	t.Parallel()
	cart, _ := lantest.Pair(t, 1, instead)
	cart.Has("e0", "10.9.8.1/24")
	cart.HoldPort(port)
	tellOn(t, cart, "set7").must("failed: " + ErrPort.Error())
}

// The figure of finding the name is that of a system which asks for it the first time.
func BenchmarkNameFound(b *testing.B) {
	cart, phone := lantest.Pair(b, 1, instead)
	cart.Has("e0", "10.9.8.1/24")
	cart.Has("e0", "fd00:9::1/64")
	phone.Has("e0", "10.9.8.2/24")
	phone.Has("e0", "fd00:9::2/64")
	var all time.Duration
	for n := range b.N {
		b.StopTimer()
		label := fmt.Sprintf("set%d", n)
		p := tellOn(b, cart, label)
		p.must("told")
		time.Sleep(announceAgain + leastBetween) // what is asked is not what is announced
		_, stop := phone.StartResponder("phone")
		b.StartTimer()
		begun := time.Now()
		if len(phone.Find(label+".local")) != 2 {
			b.Fatalf("%s.local is not found", label)
		}
		all += time.Since(begun)
		b.StopTimer()
		stop()
		p.stop()
	}
	b.ReportMetric(float64(all.Microseconds())/1000/float64(b.N), "net.name_ms")
}
