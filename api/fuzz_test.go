package api

import (
	"encoding/json"
	"os"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
)

func FuzzStill(f *testing.F) {
	for _, name := range []string{"picture.png", "progressive.jpg", "tiles.tif", "lzw-predictor.tif", "refused-planar.tif"} {
		file, err := os.ReadFile("../testdata/stills/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(file, uint8(8), uint8(8), uint8(40), uint8(30), uint8(0))
		f.Add(file, uint8(60), uint8(60), uint8(20), uint8(12), uint8(9))
	}
	encodings := []string{"sRGB", "bt1886", "linear", "pq", "hlg", "acesCct", "power", "log"}
	primaries := []string{"bt709", "acesAp0", "camera"}
	f.Fuzz(func(t *testing.T, file []byte, x, y, width, height, how uint8) {
		asked := cameras.StillQuery{Encoding: encodings[how%8], Primaries: primaries[how/8%3], Range: []string{"full", "narrow"}[how/24%2],
			X: int(x), Y: int(y), Width: 1 + int(width), Height: 1 + int(height)}
		if asked.Encoding == "power" {
			asked.Gamma = 2.4
		}
		got, err := MeasureStill(file, asked)
		if err != nil {
			if p := problemOf(err); p.Status >= 500 || p.Detail == "" {
				t.Errorf("%+v fails with %d %q (%v), want less than 500 with a detail", asked, p.Status, p.Detail, err)
			}
			return
		}
		if _, err := json.Marshal(got); err != nil {
			t.Errorf("%+v: the answer cannot be written: %v", asked, err)
		}
	})
}

func FuzzExchangeRequest(f *testing.F) {
	f.Add([]byte(`{"run":"00c0ffee00c0ffee","cursor":"x","have":{"00c0ffee00c0ffee":[[1,2],[4,9]]},"limitBytes":9}`))
	f.Add([]byte(`{"edits":[` + editOfTake + `]}`))
	f.Add([]byte(`{"have":{"00c0ffee00c0ffee":[[1]]}}`))
	f.Add([]byte(`{"limitBytes":1e3,"edits":[{"n":1}]}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		if _, err := logbook.ParseValue(string(body)); err != nil {
			return // the gate does not let it in
		}
		request, err := readableRequest(body)
		if err != nil {
			if p := problemOf(err); p.Status != 400 || p.Detail == "" {
				t.Errorf("%s fails with %d %q, want 400 with a detail", body, p.Status, p.Detail)
			}
			return
		}
		for line, spans := range request.Have {
			last := uint64(0)
			for _, s := range spans {
				if s.From <= last || s.To < s.From {
					t.Errorf("line %s holds %v, which does not rise", line, spans)
				}
				last = s.To
			}
		}
	})
}
