package charts

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// systemFonts are the fonts of the reader's own system. Every text also carries
// the width it was set for, so that whichever font is there fills the same
// room.
const systemFonts = `system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", Arial, sans-serif`

// cover is what a finished SVG says about itself.
type cover struct {
	title, words  string
	width, height float64
}

// dress rewrites the SVG that vg draws: looks become attributes, because a page
// with a strict content security policy drops style attributes and would show
// black; fonts become the system's own; sizes become CSS pixels; title and
// description are added for screen readers.
func dress(drawn []byte, c cover) ([]byte, error) {
	d := xml.NewDecoder(bytes.NewReader(drawn))
	var out bytes.Buffer
	for root := true; ; {
		tok, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			return out.Bytes(), nil
		}
		if err != nil {
			return nil, fmt.Errorf("read the drawing: %w", err)
		}
		switch t := tok.(type) {
		case xml.StartElement:
			switch {
			case root:
				c.open(&out)
				root = false
			case t.Name.Local == "text":
				err = dressText(&out, d, t)
			default:
				element(&out, t, nil)
			}
		case xml.EndElement:
			if t.Name.Local == "g" || t.Name.Local == "svg" {
				out.WriteString("</" + t.Name.Local + ">\n")
			}
		}
		if err != nil {
			return nil, err
		}
	}
}

// open writes the root element with title and description.
func (c cover) open(out *bytes.Buffer) {
	fmt.Fprintf(out, `<svg xmlns="http://www.w3.org/2000/svg" width="%g" height="%g" viewBox="0 0 %g %g" role="img" aria-labelledby="t d" font-family="`,
		c.width, c.height, c.width*pointsPerPixel, c.height*pointsPerPixel)
	escape(out, systemFonts)
	out.WriteString("\">\n<title id=\"t\">")
	escape(out, c.title)
	out.WriteString("</title>\n<desc id=\"d\">")
	escape(out, c.words)
	out.WriteString("</desc>\n")
}

// dressText writes a text with the width it was set for.
func dressText(out *bytes.Buffer, d *xml.Decoder, t xml.StartElement) error {
	tok, err := d.RawToken()
	if err != nil {
		return fmt.Errorf("read the drawing: %w", err)
	}
	words, ok := tok.(xml.CharData)
	if !ok {
		return nil
	}
	s := string(words)
	looks := looksOf(t)
	size, _ := strconv.ParseFloat(strings.TrimSuffix(looks["font-size"], "px"), 64)
	face := typeface{size: size / pointsPerPixel, bold: looks["font-weight"] == "bold"}
	set := []string{"textLength", fmt.Sprintf("%.2f", face.measure(s)*pointsPerPixel), "lengthAdjust", "spacingAndGlyphs"}
	if len([]rune(s)) < 2 {
		set = nil
	}
	element(out, t, set)
	escape(out, s)
	out.WriteString("</text>\n")
	return nil
}

// looksOf reads the style attribute of an element.
func looksOf(t xml.StartElement) map[string]string {
	looks := map[string]string{}
	for _, a := range t.Attr {
		if a.Name.Local != "style" {
			continue
		}
		for rule := range strings.SplitSeq(a.Value, ";") {
			if name, value, ok := strings.Cut(rule, ":"); ok {
				looks[strings.TrimSpace(name)] = strings.TrimSpace(value)
			}
		}
	}
	return looks
}

// element writes the start of an element, and its end unless it has content.
// more are names and values to add.
func element(out *bytes.Buffer, t xml.StartElement, more []string) {
	attribute := func(name, value string) {
		out.WriteString(" " + name + `="`)
		escape(out, value)
		out.WriteString(`"`)
	}
	out.WriteString("<" + t.Name.Local)
	for _, a := range t.Attr {
		if a.Name.Local != "style" {
			attribute(a.Name.Local, a.Value)
			continue
		}
		for rule := range strings.SplitSeq(a.Value, ";") {
			name, value, ok := strings.Cut(rule, ":")
			name, value = strings.TrimSpace(name), strings.TrimSpace(value)
			if ok && name != "font-family" && value != "normal" && name != "font-variant" {
				attribute(name, value)
			}
		}
	}
	for i := 0; i+1 < len(more); i += 2 {
		attribute(more[i], more[i+1])
	}
	switch t.Name.Local {
	case "text":
		out.WriteString(">")
	case "g":
		out.WriteString(">\n")
	default:
		out.WriteString("/>\n")
	}
}

func escape(out *bytes.Buffer, s string) {
	// A bytes.Buffer never fails to write.
	_ = xml.EscapeText(out, []byte(s))
}
