package removal

import (
	"encoding/json"
	"fmt"
	"io"

	"evenwhite/logbook"
)

// wholeDocument is an error unless a text is one whole colour log in JSON, with as many rows as
// it counts. It is read row by row.
func wholeDocument(from io.Reader) error {
	d := document{json.NewDecoder(from), 0, -1}
	err := d.read()
	if err != nil && err != io.ErrUnexpectedEOF && err != io.EOF {
		return fmt.Errorf("%w: it is not whole: %v", logbook.ErrDamaged, err)
	}
	switch _, more := d.Token(); {
	case err != nil:
		return fmt.Errorf("%w: it ends too early", logbook.ErrDamaged)
	case more != io.EOF:
		return fmt.Errorf("%w: something stands behind its end", logbook.ErrDamaged)
	case d.count != d.rows:
		return fmt.Errorf("%w: it counts %d rows and has %d", logbook.ErrDamaged, d.count, d.rows)
	}
	return nil
}

type document struct {
	*json.Decoder
	rows  int
	count int
}

// passed is a value of which only the form is looked at.
type passed struct{}

func (*passed) UnmarshalJSON([]byte) error { return nil }

func (d *document) read() error {
	if err := d.sign('{'); err != nil {
		return err
	}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return err
		}
		switch name {
		case "rows":
			err = d.readRows()
		case "count":
			err = d.Decode(&d.count)
		default:
			err = d.Decode(&passed{})
		}
		if err != nil {
			return err
		}
	}
	return d.sign('}')
}

func (d *document) readRows() error {
	if err := d.sign('['); err != nil {
		return err
	}
	for ; d.More(); d.rows++ {
		if err := d.Decode(&passed{}); err != nil {
			return err
		}
	}
	return d.sign(']')
}

func (d *document) sign(wanted json.Delim) error {
	token, err := d.Token()
	if err == nil && token != wanted {
		err = fmt.Errorf("%v stands where %v is to", token, wanted)
	}
	return err
}
