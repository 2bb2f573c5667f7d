package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/binary"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/big"
	"net"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"runtime/pprof"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"evenwhite/logbook/kinds"
	"evenwhite/server/command"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"evenwhite": profiled})
}

// profileVariable names a file for the processor profile of a server that a test
// starts.
const profileVariable = "EVENWHITE_PROFILE"

// aheadVariable says how far ahead the clock of a server is that a test starts.
const aheadVariable = "EVENWHITE_AHEAD"

// Of links: where the road to an address begins, as in 127.9.0.1:20443=127.0.0.1:4711, several with
// commas; and how often the other server is asked.
const (
	roadsVariable = "EVENWHITE_ROADS"
	pauseVariable = "EVENWHITE_PAUSE"
)

// rulesVariable is the number of other rules than those of this version.
const rulesVariable = "EVENWHITE_RULES"

// profiled is main, with a profile, another clock, other roads and other rules where they are asked for.
func profiled() {
	if roads := os.Getenv(roadsVariable); roads != "" {
		findLink = func(_ context.Context, address string) ([]string, error) {
			for road := range strings.SplitSeq(roads, ",") {
				if to, from, _ := strings.Cut(road, "="); to == address {
					address = from
					break
				}
			}
			return []string{address}, nil
		}
	}
	if pause := os.Getenv(pauseVariable); pause != "" {
		var err error
		if linkPause, err = time.ParseDuration(pause); err != nil {
			panic(err)
		}
	}
	if rules := os.Getenv(rulesVariable); rules != "" {
		var err error
		if kinds.Rules.Version, err = strconv.Atoi(rules); err != nil {
			panic(err)
		}
	}
	if ahead := os.Getenv(aheadVariable); ahead != "" {
		by, err := time.ParseDuration(ahead)
		if err != nil {
			panic(err)
		}
		clock = func() time.Time { return time.Now().Add(by) }
	}
	name := os.Getenv(profileVariable)
	if name == "" {
		main()
	}
	f, err := os.Create(name)
	if err == nil {
		err = pprof.StartCPUProfile(f)
	}
	if err != nil {
		panic(err)
	}
	code := run(os.Args[1:], command.Terminal{Out: os.Stdout, Err: os.Stderr})
	pprof.StopCPUProfile()
	os.Exit(code)
}

// TestCommands runs the scripts under testdata/script against real processes, real
// files and real HTTP. Beside the usual commands a script has:
//
//	start NAME [OPTION...]   run evenwhite serve with the options on a free port, or, where
//	                         --port is among them, on the network; sets $NAME_URL and,
//	                         where they are printed, $NAME_CODE and $NAME_ORIGIN
//	interrupt NAME           it must end with status 0; its output is then in
//	                         NAME.out and NAME.err (stop would end the script)
//	kill9 NAME               end it without warning
//	http METHOD URL [BODY]   call it with $TOKEN, if set, and a proof where it is bound to a key; the
//	                         body of the answer goes to stdout; status, protocol and headers to stderr
//	pair URL CODE [LABEL]    pair a device with a key of its own, as http prints it
//	renew URL DEVICE         get it the next token by a proof of its key
//	listen URL               open it with $TOKEN and leave it open after its first line
//	status N COMMAND...      run a command that must end with status N
//	until PATTERN COMMAND... run http or a program again and again, for a minute at most, until its
//	                         output matches
//	code                     sets $CODE to the code in the last output
//	member NAME PATH         sets $NAME to a member of the JSON in the last answer
//	certificate [NAME]       writes set.pem and set.key for localhost, or another name
//	root FOLDER              writes the root of a data folder's authority into set.pem
//	mode FILE PERMISSIONS    compares permissions, in octal
//	word NAME FILE PATTERN   sets $NAME to what the group of the pattern matches
//	guess URL N              try N wrong codes, from several addresses of this machine
//	nokey FOLDER FILE        the file holds nothing of the folder's keys, in any form
//	spoil FILE               damages the pages of a database that lead to others
//	cut FILE TO SIZE         writes the first SIZE bytes of a file into another
func TestCommands(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Setup: func(env *testscript.Env) error {
			env.Setenv("GORACE", os.Getenv("GORACE")) // the Makefile says how
			env.Values[servers{}] = make(map[string]*served)
			env.Values[devices{}] = make(map[string]*pass)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"start": start, "interrupt": interrupt, "kill9": kill9, "status": status, "code": code, "http": call, "member": member,
			"certificate": certificate, "mode": mode, "cut": cut, "spoil": spoil, "word": word, "listen": listen, "pair": pairDevice, "renew": renew,
			"nokey": noKey, "guess": guess, "root": root, "until": until,
		},
	})
}

type servers struct{}

// served is a running server of a script.
type served struct {
	cmd      *exec.Cmd
	out, err bytes.Buffer
	read     chan struct{} // closed when all of its output was read
}

var (
	listensOn   = regexp.MustCompile(`^evenwhite listens on (\S+) `)
	codePrinted = regexp.MustCompile(`^    ([A-Z]{8})$`)

	originPrinted = regexp.MustCompile(`(?m)^Phones then know it as (\S+)$`)
)

// readyLine is the last line that a server prints when it is ready.
const readyLine = "To stop: Ctrl-C"

func start(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: start NAME [OPTION...]")
	}
	name := args[0]
	program, err := exec.LookPath("evenwhite")
	ts.Check(err)
	at := []string{"serve", "--listen", "127.0.0.1:0"}
	if slices.Contains(args, "--port") {
		at = []string{"serve", "--desk-port", "0", "--no-mdns"} // no packet of a test leaves this machine
	}
	s := &served{cmd: exec.Command(program, append(at, args[1:]...)...), read: make(chan struct{})}
	s.cmd.Dir = ts.MkAbs(".")
	s.cmd.Stderr = &s.err
	out, err := s.cmd.StdoutPipe()
	ts.Check(err)
	ts.Check(s.cmd.Start())
	ts.Value(servers{}).(map[string]*served)[name] = s
	ts.Defer(func() { _ = s.cmd.Process.Kill() })
	lines := bufio.NewScanner(io.TeeReader(out, &s.out))
	said, ready := awaitReady(lines)
	ts.Setenv(name+"_URL", said.url)
	if said.code != "" {
		ts.Setenv(name+"_CODE", said.code)
	}
	if found := originPrinted.FindSubmatch(s.out.Bytes()); found != nil {
		ts.Setenv(name+"_ORIGIN", string(found[1]))
	}
	if ready {
		go drain(lines, s.read)
		return
	}
	_ = s.cmd.Wait()
	ts.Fatalf("the server ended before it was ready: %s%s", &s.out, &s.err)
}

func take(ts *testscript.TestScript, neg bool, args []string) *served {
	running := ts.Value(servers{}).(map[string]*served)
	if neg || len(args) != 1 || running[args[0]] == nil {
		ts.Fatalf("wanted the name of a running server, got %q", args)
	}
	s := running[args[0]]
	delete(running, args[0])
	return s
}

func interrupt(ts *testscript.TestScript, neg bool, args []string) {
	s := take(ts, neg, args)
	ts.Check(s.cmd.Process.Signal(os.Interrupt))
	<-s.read
	err := s.cmd.Wait()
	ts.Check(os.WriteFile(ts.MkAbs(args[0]+".out"), s.out.Bytes(), 0o600))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]+".err"), s.err.Bytes(), 0o600))
	if err != nil {
		ts.Fatalf("the server ended with %v: %s", err, &s.err)
	}
}

func kill9(ts *testscript.TestScript, neg bool, args []string) {
	s := take(ts, neg, args)
	ts.Check(s.cmd.Process.Kill())
	<-s.read
	_ = s.cmd.Wait() // says that it was killed
}

func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N COMMAND...")
	}
	err := ts.Exec(args[1], args[2:]...)
	got := "0"
	var ended *exec.ExitError
	if errors.As(err, &ended) {
		got = strconv.Itoa(ended.ExitCode())
	} else {
		ts.Check(err)
	}
	if got != args[0] {
		ts.Fatalf("%s ended with status %s, want %s", strings.Join(args[1:], " "), got, args[0])
	}
}

// until waits for what comes by itself, and asks for it.
func until(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: until PATTERN COMMAND...")
	}
	wanted, err := regexp.Compile(args[0])
	ts.Check(err)
	again := time.NewTicker(50 * time.Millisecond)
	defer again.Stop()
	for last := time.Now().Add(time.Minute); ; <-again.C {
		said := "answer"
		if args[1] == "http" {
			call(ts, false, args[2:])
		} else {
			said = "stdout"
			_ = ts.Exec(args[1], args[2:]...) // its output counts
		}
		text := ts.ReadFile(said)
		if wanted.MatchString(text) {
			return
		}
		if time.Now().After(last) {
			ts.Fatalf("within a minute %q did not say %s: %s", args[1:], args[0], text)
		}
	}
}

func code(ts *testscript.TestScript, _ bool, _ []string) {
	for line := range strings.Lines(ts.ReadFile("stdout")) {
		if found := codePrinted.FindStringSubmatch(strings.TrimRight(line, "\n")); found != nil {
			ts.Setenv("CODE", found[1])
			return
		}
	}
	ts.Fatalf("the last output has no code")
}

func call(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) < 2 || len(args) > 3 {
		ts.Fatalf("usage: http METHOD URL [BODY]")
	}
	p := &pass{}
	if token := ts.Getenv("TOKEN"); token != "" {
		p = passOf(ts, token)
	}
	asDevice(ts, neg, p, args)
}

// asDevice makes a request with what a device shows.
func asDevice(ts *testscript.TestScript, neg bool, p *pass, args []string) {
	over := &http.Transport{DisableKeepAlives: true, TLSClientConfig: trusted(ts), ForceAttemptHTTP2: true, DialContext: dialHere}
	res, err := p.send(&http.Client{Transport: over, Timeout: time.Minute}, func() (*http.Request, error) {
		req, err := http.NewRequest(args[0], args[1], strings.NewReader(strings.Join(args[2:], "")))
		if err == nil && len(args) == 3 {
			req.Header.Set("Content-Type", "application/json")
			if args[0] == http.MethodPatch {
				req.Header.Set("Content-Type", "application/merge-patch+json")
			}
		}
		return req, err
	})
	if err != nil {
		if !neg {
			ts.Fatalf("%v", err)
		}
		fmt.Fprintln(ts.Stderr(), err)
		return
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs("answer"), body, 0o600))
	_, _ = ts.Stdout().Write(body)
	fmt.Fprintf(ts.Stderr(), "%d\n%s\n", res.StatusCode, res.Proto)
	ts.Check(res.Header.Write(ts.Stderr()))
	if failed := res.StatusCode >= 400; failed != neg {
		ts.Fatalf("%s %s: %s %s", args[0], args[1], res.Status, body)
	}
}

func listen(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: listen URL")
	}
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	res, err := passOf(ts, ts.Getenv("TOKEN")).send(client, func() (*http.Request, error) {
		return http.NewRequest(http.MethodGet, args[0], nil)
	})
	ts.Check(err)
	ts.Defer(func() { _ = res.Body.Close() })
	line, err := bufio.NewReader(res.Body).ReadString('\n')
	ts.Check(err)
	if res.StatusCode != http.StatusOK {
		ts.Fatalf("%s: %s %s", args[0], res.Status, line)
	}
}

// dialHere finds names of the network on this machine.
func dialHere(ctx context.Context, network, address string) (net.Conn, error) {
	if host, port, err := net.SplitHostPort(address); err == nil && strings.HasSuffix(host, ".local") || strings.HasSuffix(host, ".test") {
		address = net.JoinHostPort("127.0.0.1", port)
	}
	return new(net.Dialer).DialContext(ctx, network, address)
}

func root(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: root FOLDER")
	}
	a, err := readAuthority(ts.MkAbs(args[0]), slog.New(slog.DiscardHandler))
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs("set.pem"), a.RootPEM(), 0o600))
}

// trusted is the script's own certificate, where it has one.
func trusted(ts *testscript.TestScript) *tls.Config {
	b, err := os.ReadFile(ts.MkAbs("set.pem"))
	if err != nil {
		return nil
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(b)
	return &tls.Config{RootCAs: pool}
}

func member(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: member NAME PATH")
	}
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("answer")), &v))
	for _, step := range strings.Split(args[1], ".") {
		switch at := v.(type) {
		case map[string]any:
			v = at[step]
		case []any:
			i, err := strconv.Atoi(step)
			if err != nil || i >= len(at) {
				ts.Fatalf("there is no item %q of %d", step, len(at))
			}
			v = at[i]
		default:
			v = nil
		}
	}
	if v == nil {
		ts.Fatalf("the answer has no member %s", args[1])
	}
	ts.Setenv(args[0], fmt.Sprint(v))
}

func word(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: word NAME FILE PATTERN")
	}
	found := regexp.MustCompile(args[2]).FindStringSubmatch(ts.ReadFile(args[1]))
	if len(found) != 2 {
		ts.Fatalf("%s does not match %s once", args[1], args[2])
	}
	ts.Setenv(args[0], found[1])
}

func certificate(ts *testscript.TestScript, _ bool, args []string) {
	names := append(args, "localhost")[:1]
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	ts.Check(err)
	now := time.Now()
	leaf := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "a set"}, DNSNames: names,
		NotBefore: now.Add(-time.Hour), NotAfter: now.Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
	}
	der, err := x509.CreateCertificate(rand.Reader, leaf, leaf, key.Public(), key)
	ts.Check(err)
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs("set.pem"), pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600))
	ts.Check(os.WriteFile(ts.MkAbs("set.key"), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), 0o600))
}

func mode(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: mode FILE PERMISSIONS")
	}
	info, err := os.Stat(ts.MkAbs(args[0]))
	ts.Check(err)
	if got := fmt.Sprintf("%o", info.Mode().Perm()); got != args[1] {
		ts.Fatalf("%s has mode %s, want %s", args[0], got, args[1])
	}
}

func spoil(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: spoil FILE")
	}
	content := []byte(ts.ReadFile(args[0]))
	size, damaged := int(binary.NativeEndian.Uint32(content[24:])), 0
	for at := 0; at+size <= len(content); at += size {
		page := content[at : at+size]
		if leads := binary.NativeEndian.Uint16(page[8:]) == 1; leads && binary.NativeEndian.Uint64(page) == uint64(at/size) {
			copy(page, bytes.Repeat([]byte{0xff}, size))
			damaged++
		}
	}
	if damaged == 0 {
		ts.Fatalf("%s has no page that leads to others", args[0])
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), content, 0o600))
}

func cut(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: cut FILE TO SIZE")
	}
	size, err := strconv.Atoi(args[2])
	ts.Check(err)
	whole := ts.ReadFile(args[0])
	if len(whole) <= size {
		ts.Fatalf("%s has %d bytes: there is nothing to cut at %d", args[0], len(whole), size)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(whole[:size]), 0o600))
}
