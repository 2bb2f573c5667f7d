package main

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"

	"github.com/rogpeppe/go-internal/testscript"

	"evenwhite/api/pairing/prooftest"
)

// devices are those that a script paired: what each shows, by its id and by its tokens.
type devices struct{}

// passOf is what goes with a token: a proof, where a device of the script has it.
func passOf(ts *testscript.TestScript, token string) *pass {
	if p := ts.Value(devices{}).(map[string]*pass)[token]; p != nil {
		return p
	}
	return &pass{token: token}
}

func pairDevice(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) < 2 || len(args) > 3 {
		ts.Fatalf("usage: pair URL CODE [LABEL]")
	}
	body := map[string]string{"code": args[1]}
	if len(args) == 3 {
		body["label"] = args[2]
	}
	b, err := json.Marshal(body)
	ts.Check(err)
	p := &pass{key: prooftest.Draw()}
	asDevice(ts, neg, p, []string{http.MethodPost, args[0] + "/v1/pairing", string(b)})
	remember(ts, neg, p.key)
}

func renew(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: renew URL DEVICE")
	}
	known := ts.Value(devices{}).(map[string]*pass)[args[1]]
	if known == nil {
		ts.Fatalf("no device %s was paired by this script", args[1])
	}
	asDevice(ts, neg, &pass{key: known.key}, []string{http.MethodPost, args[0] + "/v1/token", "{}"})
	remember(ts, neg, known.key)
}

// remember keeps what the last answer gave a device.
func remember(ts *testscript.TestScript, neg bool, key *prooftest.Key) {
	if neg {
		return
	}
	var said struct{ Device, Token string }
	b, err := os.ReadFile(ts.MkAbs("answer"))
	if err == nil {
		err = json.Unmarshal(b, &said)
	}
	if err == nil && (said.Device == "" || said.Token == "") {
		err = fmt.Errorf("the answer has no device and token: %s", b)
	}
	ts.Check(err)
	all := ts.Value(devices{}).(map[string]*pass)
	all[said.Device] = &pass{token: said.Token, key: key}
	all[said.Token] = all[said.Device]
}
