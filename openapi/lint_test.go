package openapi

import (
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"evenwhite/logbook/needed"
)

// clientTools is where make setup-test puts what holds the contract against its standard
// and makes clients of it.
const clientTools = "../testdata/clients"

// The linters take half a minute, which is for make test, not for whoever changes a line.
var lint = flag.Bool("contract.lint", false, "hold the served contract against its linters")

// TestTheServedContractPassesTwoLinters holds what is served against the rules of two
// programs that know nothing of each other: no error, and no warning but for the rules
// that their files switch off, each with its reason.
func TestTheServedContractPassesTwoLinters(t *testing.T) {
	if !*lint {
		t.Skip("asked for by make test, with -contract.lint")
	}
	text, err := Served()
	if err != nil {
		t.Fatal(err)
	}
	contract := filepath.Join(t.TempDir(), "openapi.yaml")
	if err := os.WriteFile(contract, text, 0o600); err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string][]string{
		"redocly": {"@redocly/cli/bin/cli.js", "lint", "--config", clientTools + "/redocly.yaml", "--max-problems", "20", contract},
		"spectral": {"@stoplight/spectral-cli/dist/index.js", "lint", "--ruleset", clientTools + "/spectral.yaml",
			"--fail-severity", "hint", "--format", "text", contract},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			args[0] = filepath.Join(clientTools, "node_modules", args[0])
			if _, err := os.Stat(args[0]); err != nil {
				needed.Missing(t, args[0])
			}
			linter := exec.Command("node", args...)
			linter.Env = append(os.Environ(), "REDOCLY_TELEMETRY=off", "REDOCLY_SUPPRESS_UPDATE_NOTICE=true")
			if out, err := linter.CombinedOutput(); err != nil {
				t.Errorf("%v\n%s", err, out)
			}
		})
	}
}
