package kinds

import (
	"strconv"

	"evenwhite/logbook"
)

// judgeTogether judges what the members of one group say together, after each
// was found valid by itself.
func judgeTogether(f *Field, v logbook.Value) *logbook.FieldError {
	switch f.Name {
	case "spectrum":
		return judgeSpectrum(v)
	case "xy":
		return judgeXY(v)
	case "codeValues":
		return judgeCodes(v)
	case "percent":
		if v.Member("g") != "" { // a gel's transmission in percent has no g
			return judgeLevel(v, 0, 100)
		}
	}
	least, ok := v.Member("min").Number()
	most, both := v.Member("max").Number()
	if ok && both && CompareNumbers(least, most) > 0 {
		return &logbook.FieldError{Field: "max", Value: logbook.Value(most), Allowed: "a number not less than min, which is " + least}
	}
	return nil
}

// judgeXY: x and y of any light add up to at most 1. One addition of two numbers
// is the same on every processor.
func judgeXY(v logbook.Value) *logbook.FieldError {
	x, _ := v.Member("x").Float()
	y, _ := v.Member("y").Float()
	if x+y > 1 {
		return &logbook.FieldError{Field: "y", Value: v.Member("y"),
			Allowed: "a number that adds up with x, which is " + string(v.Member("x")) + ", to at most 1"}
	}
	return nil
}

func judgeSpectrum(v logbook.Value) *logbook.FieldError {
	n, before := 0, ""
	for item := range v.Member("wavelengthsNm").Items() {
		text, _ := item.Number()
		if before != "" && CompareNumbers(before, text) >= 0 {
			return &logbook.FieldError{Field: "wavelengthsNm", Value: item, Allowed: "wavelengths that rise: it stands after " + before}
		}
		before = text
		n++
	}
	for range v.Member("values").Items() {
		n--
	}
	if n != 0 {
		return &logbook.FieldError{Field: "values", Value: v.Member("values"), Allowed: "as many values as wavelengthsNm"}
	}
	return nil
}

// judgeCodes: code values lie within their bits, and the patch is neither black
// nor burnt out. The limits of narrow range are 16 and 235 of 8 bits, shifted
// (ITU-R BT.709-6, 5.4 and BT.2100-2, table 9).
func judgeCodes(v logbook.Value) *logbook.FieldError {
	bits, _ := v.Member("bits").Float()
	most := float64(int(1)<<int(bits) - 1)
	for _, name := range [...]string{"r", "g", "b"} {
		if code, _ := v.Member(name).Float(); code > most {
			return &logbook.FieldError{Field: name, Value: v.Member(name),
				Allowed: "a code value from 0 to " + strconv.Itoa(1<<int(bits)-1) + ", the range of its bits"}
		}
	}
	if v.Member("range") == `"narrow"` {
		step := float64(int(1) << (int(bits) - 8))
		return judgeLevel(v, 16*step, 235*step)
	}
	return judgeLevel(v, 0, most)
}

// judgeLevel refuses a patch whose mean lies outside 5 to 90 % of the range: too
// near to black or to clipping to show its colour (common practice, no source).
// No product is added to anything here: a processor that fuses the two would come
// to another verdict.
func judgeLevel(v logbook.Value, black, white float64) *logbook.FieldError {
	sum := 0.0
	for _, name := range [...]string{"r", "g", "b"} {
		value, _ := v.Member(name).Float()
		sum += value
	}
	for range 3 {
		sum -= black
	}
	parts, span := sum*100, (white-black)*3
	if parts < span*5 || parts > span*90 {
		return &logbook.FieldError{Field: "g", Value: v.Member("g"), Allowed: "a patch whose mean of r, g and b lies at 5 to 90 % of the range"}
	}
	return nil
}
