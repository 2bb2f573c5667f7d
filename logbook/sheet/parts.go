package sheet

import (
	"bufio"
	"fmt"
	"io"
	"strings"
)

const (
	spreadsheetNS = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	packageNS     = "http://schemas.openxmlformats.org/package/2006"
	relationNS    = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	mainType      = "application/vnd.openxmlformats-officedocument.spreadsheetml."
)

// styles has a plain cell, a head, a date and text, in this order.
const styles = declaration + `<styleSheet xmlns="` + spreadsheetNS + `"><numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd"/></numFmts>` +
	`<fonts count="2"><font><sz val="10"/><name val="Arial"/></font><font><b/><sz val="10"/><name val="Arial"/></font></fonts>` +
	`<fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill></fills>` +
	`<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>` +
	`<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs><cellXfs count="4">` +
	`<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>` +
	`<xf numFmtId="49" fontId="1" fillId="0" borderId="0" xfId="0" applyNumberFormat="1" applyFont="1"/>` +
	`<xf numFmtId="164" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>` +
	`<xf numFmtId="49" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>` +
	`</cellXfs><cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>`

// Close ends the last sheet and writes the parts that name all of them.
func (b *Book) Close() error {
	if err := b.endSheet(); err != nil {
		return err
	}
	var types, relations, sheets, filters strings.Builder
	for i, name := range b.names {
		n := i + 1
		fmt.Fprintf(&types, `<Override PartName="/xl/worksheets/sheet%d.xml" ContentType="%sworksheet+xml"/>`, n, mainType)
		fmt.Fprintf(&relations, `<Relationship Id="rId%d" Type="%s/worksheet" Target="worksheets/sheet%d.xml"/>`, n, relationNS, n)
		fmt.Fprintf(&sheets, `<sheet name="%s" sheetId="%d" r:id="rId%d"/>`, escapedText(name), n, n)
		fmt.Fprintf(&filters, `<definedName name="_xlnm._FilterDatabase" localSheetId="%d" hidden="1">'%s'!$A$1:$%s$%d</definedName>`,
			i, escapedText(strings.ReplaceAll(name, "'", "''")), letters(b.sheets[i].columns-1), b.sheets[i].rows)
	}
	fmt.Fprintf(&relations, `<Relationship Id="rId%d" Type="%s/styles" Target="styles.xml"/>`, len(b.names)+1, relationNS)
	for _, part := range []struct{ name, text string }{
		{"xl/styles.xml", styles},
		{"xl/workbook.xml", declaration + `<workbook xmlns="` + spreadsheetNS + `" xmlns:r="` + relationNS + `"><sheets>` + sheets.String() +
			`</sheets><definedNames>` + filters.String() + `</definedNames></workbook>`},
		{"xl/_rels/workbook.xml.rels", declaration + `<Relationships xmlns="` + packageNS + `/relationships">` + relations.String() + `</Relationships>`},
		{"_rels/.rels", declaration + `<Relationships xmlns="` + packageNS + `/relationships"><Relationship Id="rId1" Type="` + relationNS +
			`/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"[Content_Types].xml", declaration + `<Types xmlns="` + packageNS + `/content-types">` +
			`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
			`<Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="` + mainType + `sheet.main+xml"/>` +
			`<Override PartName="/xl/styles.xml" ContentType="` + mainType + `styles+xml"/>` + types.String() + `</Types>`},
	} {
		w, err := b.entry(part.name)
		if err != nil {
			return err
		}
		if _, err := io.WriteString(w, part.text); err != nil {
			return err
		}
	}
	return b.zip.Close()
}

func escapedText(text string) string {
	var out strings.Builder
	w := bufio.NewWriter(&out)
	escape(w, text)
	w.Flush()
	return strings.ReplaceAll(out.String(), `"`, "&quot;")
}
