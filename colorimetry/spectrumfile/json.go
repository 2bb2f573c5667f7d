package spectrumfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// spectrumObject is the object form.
type spectrumObject struct {
	Wavelengths numbers `json:"wavelengths"`
	Values      numbers `json:"values"`
	Unit        *string `json:"unit"`
	Name        string  `json:"name"`
}

const allowedJSON = `{"wavelengths": […], "values": […], "unit": "nm", "name": "…"} or [[wavelength, value], …]`

func parseJSON(text []byte) (samples, error) {
	if bytes.TrimSpace(text)[0] == '[' {
		var pairs pairList
		err := decodeJSON(text, &pairs)
		return samples(pairs), err
	}
	var o spectrumObject
	if err := decodeJSON(text, &o); err != nil {
		return samples{}, err
	}
	if o.Unit != nil && *o.Unit != "nm" {
		return samples{}, fileError(JSON, `unit is %s, allowed is "nm"`, shown(*o.Unit))
	}
	if len(o.Wavelengths) != len(o.Values) {
		return samples{}, fileError(JSON, "%d wavelengths and %d values, allowed is one value for each", len(o.Wavelengths), len(o.Values))
	}
	return samples{o.Wavelengths, o.Values}, nil
}

func decodeJSON(text []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return fileError(JSON, "%s, allowed is %s", clipped(err.Error(), 200), allowedJSON)
	}
	if _, err := d.Token(); err != io.EOF {
		return fileError(JSON, "something follows the first value, allowed is one spectrum a file")
	}
	return nil
}

// numbers is an array of numbers that is read one by one: a large array must not
// take its room before it is refused, and null must not count as 0.
type numbers []float64

func (n *numbers) UnmarshalJSON(text []byte) error {
	d := json.NewDecoder(bytes.NewReader(text))
	if err := open(d); err != nil {
		return err
	}
	*n = numbers{}
	for d.More() {
		if len(*n) == maxSamples {
			return fmt.Errorf("more than %d numbers", maxSamples)
		}
		v, err := number(d)
		if err != nil {
			return fmt.Errorf("number %d: %w", len(*n)+1, err)
		}
		*n = append(*n, v)
	}
	return nil
}

// pairList is an array of pairs, read in the same way.
type pairList samples

func (p *pairList) UnmarshalJSON(text []byte) error {
	d := json.NewDecoder(bytes.NewReader(text))
	if err := open(d); err != nil {
		return err
	}
	*p = pairList{}
	for d.More() {
		if len(p.nm) == maxSamples {
			return fmt.Errorf("more than %d pairs", maxSamples)
		}
		if err := p.pair(d); err != nil {
			return fmt.Errorf("pair %d: %w", len(p.nm)+1, err)
		}
	}
	return nil
}

func (p *pairList) pair(d *json.Decoder) error {
	if err := open(d); err != nil {
		return err
	}
	nm, err := number(d)
	if err != nil {
		return err
	}
	value, err := number(d)
	if err != nil {
		return err
	}
	if end, err := d.Token(); err != nil || end != json.Delim(']') {
		return errors.New("more than two numbers")
	}
	p.nm, p.values = append(p.nm, nm), append(p.values, value)
	return nil
}

func open(d *json.Decoder) error {
	if t, err := d.Token(); err != nil || t != json.Delim('[') {
		return errors.New("not an array")
	}
	return nil
}

func number(d *json.Decoder) (float64, error) {
	t, err := d.Token()
	if err != nil {
		return 0, err
	}
	v, ok := t.(float64)
	if !ok {
		return 0, fmt.Errorf("%s is not a number", clipped(fmt.Sprint(t), 40))
	}
	return v, nil
}
