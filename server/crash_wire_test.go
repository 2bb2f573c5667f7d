package main

import (
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
)

// crashRequest and crashAnswer are an exchange as it goes over the wire.
type crashRequest struct {
	Run    string                 `json:"run,omitempty"`
	Cursor string                 `json:"cursor,omitempty"`
	Have   map[string][][2]uint64 `json:"have,omitempty"`
	Edits  []*logbook.Edit        `json:"edits,omitempty"`
}

type crashAnswer struct {
	Run     string `json:"run"`
	Log     string `json:"log"`
	Answers []struct {
		Dot     string `json:"dot"`
		Outcome string `json:"outcome"`
		Reason  string `json:"reason"`
	} `json:"answers"`
	List   map[string][][2]uint64 `json:"list"`
	Reset  bool                   `json:"reset"`
	Edits  []*logbook.Edit        `json:"edits"`
	More   bool                   `json:"more"`
	Cursor string                 `json:"cursor"`
}

func spansOf(r logbook.Ranges) map[string][][2]uint64 {
	out := map[string][][2]uint64{}
	for line, held := range r {
		for _, s := range held {
			out[line.String()] = append(out[line.String()], [2]uint64{s.From, s.To})
		}
	}
	return out
}

func (a crashAnswer) answer() (out exchange.Answer, err error) {
	out = exchange.Answer{Reset: a.Reset, Edits: a.Edits, More: a.More, Cursor: a.Cursor}
	if out.Run, err = logbook.ParseLine(a.Run); err != nil {
		return out, err
	}
	if out.Identity, err = logbook.ParseLine(a.Log); err != nil {
		return out, err
	}
	for _, said := range a.Answers {
		dot, err := logbook.ParseDot(said.Dot)
		if err != nil {
			return out, err
		}
		out.Answers = append(out.Answers, logbook.Answer{Dot: dot, Outcome: said.Outcome, Reason: said.Reason})
	}
	if a.List == nil {
		return out, nil
	}
	out.List = logbook.Ranges{}
	for text, held := range a.List {
		line, err := logbook.ParseLine(text)
		if err != nil {
			return out, err
		}
		for _, s := range held {
			out.List[line] = append(out.List[line], logbook.Span{From: s[0], To: s[1]})
		}
	}
	return out, nil
}
