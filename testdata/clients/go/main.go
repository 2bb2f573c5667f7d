// Day lives the README's day on a server by a client that was generated from the contract
// that the server serves: it knows nothing else of it. Its arguments are the server's
// address and the owner's code; it prints what a person would read.
package main

import (
	"bytes"
	"context"
	_ "embed"
	"fmt"
	"net/http"
	"os"
	"strings"
	"time"

	"github.com/oapi-codegen/runtime/types"

	"day/contract"
)

func main() {
	if err := live(context.Background(), os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, "day:", err)
		os.Exit(1)
	}
}

func to[T any](v T) *T { return &v }

// wanted is the body of an answer, or what the server says in place of it.
func wanted[T any](got *T, answer interface {
	Status() string
	GetBody() []byte
}, err error) (*T, error) {
	switch {
	case err != nil:
		return nil, err
	case got == nil:
		return nil, fmt.Errorf("the server answers %s: %s", answer.Status(), answer.GetBody())
	}
	return got, nil
}

// A day is a production on its way.
type day struct {
	*contract.ClientWithResponses
	production contract.ProductionParameter
	camera     contract.RecordParameter
	setUp      contract.RecordParameter
}

func live(ctx context.Context, server, code string) error {
	own, err := newDevice()
	if err != nil {
		return err
	}
	client, err := contract.NewClientWithResponses(server, contract.WithHTTPClient(own))
	if err != nil {
		return err
	}
	paired, err := client.PairWithResponse(ctx, &contract.PairParams{}, contract.Pairing{Code: code, Label: to("the generated client")})
	if err != nil {
		return err
	}
	admission, err := wanted(paired.JSON201, paired, nil)
	if err != nil {
		return err
	}
	own.token = admission.Token
	d := &day{ClientWithResponses: client}
	for _, step := range []func(context.Context) error{d.begin, d.prepare, d.light, d.shoot, d.correct, d.look} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	if err := d.exchange(ctx, admission.Device); err != nil {
		return err
	}
	return d.handOver(ctx)
}

func (d *day) begin(ctx context.Context) error {
	made, err := d.CreateProductionWithResponse(ctx, &contract.CreateProductionParams{}, contract.NewProduction{
		Title: "The Night Ferry", TimeZone: "Europe/Berlin", FrameRate: "25", GelFamily: "based5500",
	})
	if err != nil {
		return err
	}
	production, err := wanted(made.JSON201, made, nil)
	if err != nil {
		return err
	}
	d.production = *production.Id
	fmt.Println("production:", *production.Title)
	return nil
}

func (d *day) prepare(ctx context.Context) error {
	made, err := d.CreateDayWithResponse(ctx, d.production, &contract.CreateDayParams{},
		contract.NewDay{Number: 1, Date: types.Date{Time: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)}})
	if err != nil {
		return err
	}
	shooting, err := wanted(made.JSON201, made, nil)
	if err != nil {
		return err
	}
	body, err := d.CreateBodyWithResponse(ctx, d.production, &contract.CreateBodyParams{}, contract.NewBody{
		Label: "1", WhiteModes: []contract.NewBodyWhiteModes{"kelvin"},
		KelvinRanges:   &[]contract.BodyKelvinRangesItem{{Min: 2500, Max: 10000, Step: 100}},
		RecordingModes: &contract.BodyRecordingModes{"main": {Name: "8-bit", White: "baked"}},
		Timecode:       "timeOfDay",
	})
	if err != nil {
		return err
	}
	if _, err := wanted(body.JSON201, body, nil); err != nil {
		return err
	}
	camera, err := d.CreateCameraWithResponse(ctx, d.production, &contract.CreateCameraParams{},
		contract.NewCamera{Letter: "A", Body: contract.CameraBody{Body: *body.JSON201.Id}})
	if err != nil {
		return err
	}
	if _, err := wanted(camera.JSON201, camera, nil); err != nil {
		return err
	}
	d.camera = *camera.JSON201.Id
	setUp, err := d.CreateSetUpWithResponse(ctx, d.production, &contract.CreateSetUpParams{}, contract.NewSetUp{
		Day: *shooting.Id, Name: "1", Cameras: &contract.SetUpCameras{d.camera.String(): {InUse: to(true)}},
	})
	if err != nil {
		return err
	}
	if _, err := wanted(setUp.JSON201, setUp, nil); err != nil {
		return err
	}
	d.setUp = *setUp.JSON201.Id
	return nil
}

// light puts a light up, reads it, and calls its light white.
func (d *day) light(ctx context.Context) error {
	window, err := d.CreateLightWithResponse(ctx, d.production, &contract.CreateLightParams{},
		contract.NewLight{SetUp: d.setUp, Name: "window", Role: "key"})
	if err != nil {
		return err
	}
	if _, err := wanted(window.JSON201, window, nil); err != nil {
		return err
	}
	var measured contract.ReadingMeasured
	var of contract.ReadingOf
	if err := measured.FromReadingMeasuredCctDuv(contract.ReadingMeasuredCctDuv{CctKelvin: 5600, Duv: 0.003}); err != nil {
		return err
	}
	if err := of.FromReadingOfLight(contract.ReadingOfLight{Light: *window.JSON201.Id}); err != nil {
		return err
	}
	reading, err := d.CreateReadingWithResponse(ctx, d.production, &contract.CreateReadingParams{}, contract.NewReading{
		SetUp: &d.setUp, Measured: measured, Of: of, TakenAt: time.Now().UTC(),
		Illuminance: &contract.ReadingIlluminance{Value: 640, Unit: "lux"},
	})
	if err != nil {
		return err
	}
	if _, err := wanted(reading.JSON201, reading, nil); err != nil {
		return err
	}
	var from contract.WhiteFrom
	var applies contract.WhiteAppliesFrom
	if err := from.FromWhiteFromReadings(contract.WhiteFromReadings{
		Readings: &[]contract.WhiteFromReadingsReadingsItem{{Reading: *reading.JSON201.Id}},
	}); err != nil {
		return err
	}
	if err := applies.FromWhiteAppliesFromStart(contract.WhiteAppliesFromStart{}); err != nil {
		return err
	}
	white, err := d.CreateWhiteWithResponse(ctx, d.production, &contract.CreateWhiteParams{},
		contract.NewWhite{SetUp: d.setUp, From: from, AppliesFrom: applies, DecidedBy: to("cinematographer")})
	if err != nil {
		return err
	}
	_, err = wanted(white.JSON201, white, nil)
	return err
}

// shoot logs two takes: what a set-up's events make is told apart by kind.
func (d *day) shoot(ctx context.Context) error {
	first := contract.Event{Event: "nextTake", Cameras: &contract.EventCameras{
		d.camera.String(): {WhiteMode: to(contract.EventCamerasEntryWhiteMode("kelvin")), Kelvin: to(4300.0)},
	}}
	for _, event := range []contract.Event{first, {Event: "nextTake"}} {
		logged, err := d.LogEventWithResponse(ctx, d.production, d.setUp, &contract.LogEventParams{}, event)
		if err != nil {
			return err
		}
		records, err := wanted(logged.JSON201, logged, nil)
		if err != nil {
			return err
		}
		for _, r := range records.Records {
			any, err := r.ValueByDiscriminator()
			if err != nil {
				return err
			}
			switch record := any.(type) {
			case contract.Take:
				fmt.Println("take:", *record.Number)
			case contract.Clip:
				fmt.Println("clip:", *record.Kelvin, *record.SettingsAre)
			default:
				return fmt.Errorf("an event made a %T", record)
			}
		}
	}
	return nil
}

// correct reads a clip off: a patch sends what it sets and nothing else.
func (d *day) correct(ctx context.Context) error {
	listed, err := d.ListClipsWithResponse(ctx, d.production, &contract.ListClipsParams{})
	if err != nil {
		return err
	}
	page, err := wanted(listed.JSON200, listed, nil)
	if err != nil {
		return err
	}
	clip := *page.Records[len(page.Records)-1].Id
	read, err := d.GetClipWithResponse(ctx, d.production, clip, &contract.GetClipParams{})
	if err != nil {
		return err
	}
	tag := read.HTTPResponse.Header.Get("ETag")
	patched, err := d.PatchClipWithApplicationMergePatchPlusJSONBodyWithResponse(ctx, d.production, clip,
		&contract.PatchClipParams{IfMatch: &tag}, contract.PatchOfClip{SettingsAre: to(contract.PatchOfClipSettingsAre("readOff"))})
	if err != nil {
		return err
	}
	now, err := wanted(patched.JSON200, patched, nil)
	if err != nil {
		return err
	}
	fmt.Println("clip:", *now.Kelvin, *now.SettingsAre)
	return nil
}

func (d *day) look(ctx context.Context) error {
	asked, err := d.GetNowWithResponse(ctx, d.production, d.setUp)
	if err != nil {
		return err
	}
	now, err := wanted(asked.JSON200, asked, nil)
	if err != nil {
		return err
	}
	fmt.Println("white:", now.White.Words, "next take:", now.NextTake)
	listed, err := d.ListDeviationsWithResponse(ctx, d.production, &contract.ListDeviationsParams{})
	if err != nil {
		return err
	}
	deviations, err := wanted(listed.JSON200, listed, nil)
	if err != nil {
		return err
	}
	fmt.Println("deviation:", deviations.Deviations[0].Headline)
	table, err := d.GetColorLogCSVWithResponse(ctx, d.production, &contract.GetColorLogCSVParams{})
	if err != nil {
		return err
	}
	if table.StatusCode() != http.StatusOK {
		return fmt.Errorf("the colour log: %s", table.Status())
	}
	fmt.Println("colour log:", table.HTTPResponse.Header.Get("Content-Disposition"))
	return nil
}

// exchange brings an edit of the device's own, and fetches all that the others made.
func (d *day) exchange(ctx context.Context, device contract.DeviceParameter) error {
	note, line := contract.RecordParameter(device), "00c0ffee00c0ffee"
	mine := contract.Edit{
		Production: d.production, Kind: "note", Record: note, Device: device, Line: line, N: 1, At: time.Now().UTC().Truncate(time.Millisecond),
		By: to("2nd AC"), Set: map[string]any{"about": d.camera, "text": "B has the longer lens from here on"},
	}
	sent := contract.ExchangeRequest{Edits: &[]contract.Edit{mine}, Have: &contract.Ranges{line: {{1, 1}}}}
	edits := 0
	for more := true; more; {
		answer, err := d.ExchangeWithResponse(ctx, d.production, sent)
		if err != nil {
			return err
		}
		got, err := wanted(answer.JSON200, answer, nil)
		if err != nil {
			return err
		}
		for _, a := range got.Answers {
			fmt.Println("edit:", a.Dot, a.Outcome)
		}
		edits += len(got.Edits)
		more = got.More || got.Reset != nil
		sent = contract.ExchangeRequest{Run: &got.Run, Cursor: &got.Cursor}
	}
	fmt.Println("edits of others:", edits)
	read, err := d.GetNoteWithResponse(ctx, d.production, note, &contract.GetNoteParams{})
	if err != nil {
		return err
	}
	kept, err := wanted(read.JSON200, read, nil)
	if err != nil {
		return err
	}
	fmt.Println("note:", *kept.Text)
	return nil
}

//go:embed grey.png
var grey []byte

// handOver asks what post asks.
func (d *day) handOver(ctx context.Context) error {
	listed, err := d.FindClipsWithResponse(ctx, d.production, &contract.FindClipsParams{Camera: to("A"), Take: to("2")})
	if err != nil {
		return err
	}
	found, err := wanted(listed.JSON200, listed, nil)
	if err != nil {
		return err
	}
	clip := found.Clips[0].Clip
	fmt.Println("found:", len(found.Clips), (*found.Clips[0].Takes)[0])
	answer, err := d.JoinFootageWithBodyWithResponse(ctx, d.production, &contract.JoinFootageParams{}, "text/plain",
		strings.NewReader("/offload/A001/A001C001.mov\n"))
	if err != nil {
		return err
	}
	joined, err := wanted(answer.JSON200, answer, nil)
	if err != nil {
		return err
	}
	fmt.Println("footage:", joined.Counts.Recordings, joined.Counts.Sure, joined.NoRow[0].Words)
	asked, err := d.GetHowRightWithResponse(ctx, d.production, &contract.GetHowRightParams{})
	if err != nil {
		return err
	}
	right, err := wanted(asked.JSON200, asked, nil)
	if err != nil {
		return err
	}
	fmt.Println("how right:", right.Words)
	rebuilt, err := d.GetRebuildWithResponse(ctx, d.production, d.setUp, &contract.GetRebuildParams{})
	if err != nil {
		return err
	}
	sheet, err := wanted(rebuilt.JSON200, rebuilt, nil)
	if err != nil {
		return err
	}
	fmt.Println("to build again:", sheet.Lights[0].Rigged.Name)
	open, err := d.GetWrapWithResponse(ctx, d.production, &contract.GetWrapParams{})
	if err != nil {
		return err
	}
	wrap, err := wanted(open.JSON200, open, nil)
	if err != nil {
		return err
	}
	fmt.Println("open:", wrap.Items[len(wrap.Items)-1].Words)
	checked, err := d.CheckStillWithBodyWithResponse(ctx, d.production, clip,
		&contract.CheckStillParams{X: 4, Y: 4, Width: 16, Height: 16, Encoding: "bt1886", Primaries: "bt709"}, "image/png", bytes.NewReader(grey))
	if err != nil {
		return err
	}
	still, err := wanted(checked.JSON200, checked, nil)
	if err != nil {
		return err
	}
	fmt.Println("frame:", still.Seen.Format, still.Clip == clip)
	document, err := d.GetColorLogJSONWithResponse(ctx, d.production, &contract.GetColorLogJSONParams{})
	if err != nil {
		return err
	}
	log, err := wanted(document.JSON200, document, nil)
	if err != nil {
		return err
	}
	state, ok := (*log)["state"].(map[string]any)
	if !ok {
		return fmt.Errorf("the colour log names no state: %s", document.Body[:200])
	}
	compared, err := d.CompareColorLogsWithResponse(ctx, d.production, &contract.CompareColorLogsParams{Before: state["name"].(string)})
	if err != nil {
		return err
	}
	changes, err := wanted(compared.JSON200, compared, nil)
	if err != nil {
		return err
	}
	fmt.Println("changes since:", len(changes.Clips), changes.Before == changes.After)
	links, err := d.ListServersWithResponse(ctx)
	if err != nil {
		return err
	}
	servers, err := wanted(links.JSON200, links, nil)
	if err != nil {
		return err
	}
	fmt.Println("linked servers:", len(servers.Servers))
	return nil
}
