// Benchlines turns the output of "go test -bench" into one JSON line a figure.
// A figure is a metric whose unit is its name, such as setlog1.heads; of several
// runs (-count) the median is printed. Go prints seven decimals: a smaller figure
// gives its scale after its name, as in colour.cct_error_duv*1e-12.
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"runtime"
	"sort"
	"strconv"
	"strings"
)

// units gives the unit of a figure by the end of its name; the first that fits counts.
var units = []struct{ end, unit string }{
	{"_per_s", "1/s"}, {"_per_s_64", "1/s"}, {"_ms", "ms"}, {"_us_per_edit", "µs"}, {"bytes_per_edit", "B"}, {"_bytes", "B"}, {"_mb", "MB"},
	{"_ms_per_1000_edits", "ms"},
	{"_us", "µs"}, {"_kelvin", "K"}, {"_duv", "Duv"}, {"ratio_1", "ratio"}, {"ratio_64", "ratio"}, {"_ratio", "ratio"},
	{"_share", "share"}, {"_s", "s"},
}

type figure struct {
	Name    string  `json:"name"`
	Value   float64 `json:"value"`
	Unit    string  `json:"unit"`
	N       int     `json:"n"`
	Machine string  `json:"machine"`
}

func main() {
	found := map[string][]float64{}
	processor := ""
	failed := false
	for in := bufio.NewScanner(os.Stdin); in.Scan(); {
		words := strings.Fields(in.Text())
		if len(words) > 0 && (words[0] == "FAIL" || words[0] == "---" || strings.HasPrefix(words[0], "panic")) {
			failed = true
		}
		if name, ok := strings.CutPrefix(in.Text(), "cpu: "); ok {
			processor = ", " + name
		}
		if len(words) == 0 || !strings.HasPrefix(words[0], "Benchmark") {
			fmt.Fprintln(os.Stderr, in.Text())
			continue
		}
		for i := 2; i+1 < len(words); i += 2 {
			value, err := strconv.ParseFloat(words[i], 64)
			name, scale, ok := unscaled(words[i+1])
			if err == nil && ok && strings.Contains(name, ".") {
				found[name] = append(found[name], value*scale)
			}
		}
	}
	machine := fmt.Sprintf("%s/%s, %d cores%s, %s%s", runtime.GOOS, runtime.GOARCH, runtime.NumCPU(), processor, runtime.Version(), load())
	names := make([]string, 0, len(found))
	for name := range found {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		values := found[name]
		sort.Float64s(values)
		f := figure{Name: name, Value: values[len(values)/2], Unit: "count", N: len(values), Machine: machine}
		measured := strings.TrimSuffix(strings.TrimSuffix(name, "_60k"), "_1m") // of growth: the size of the log
		for _, u := range units {
			if strings.HasSuffix(measured, u.end) {
				f.Unit = u.unit
				break
			}
		}
		line, err := json.Marshal(f)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		fmt.Println(string(line))
	}
	if failed || len(names) == 0 {
		fmt.Fprintln(os.Stderr, "benchlines: a benchmark failed, or none reported a figure")
		os.Exit(1)
	}
}

// load says how many processes wanted a core on the average of the last five minutes,
// where the system says it: times on a machine that does other work are the work's too.
func load() string {
	text, err := os.ReadFile("/proc/loadavg")
	if words := strings.Fields(string(text)); err == nil && len(words) > 1 {
		return ", load " + words[1]
	}
	return ""
}

// unscaled parts the name of a figure from its scale.
func unscaled(unit string) (name string, scale float64, ok bool) {
	name, power, scaled := strings.Cut(unit, "*")
	if !scaled {
		return name, 1, true
	}
	scale, err := strconv.ParseFloat(power, 64)
	return name, scale, err == nil
}
