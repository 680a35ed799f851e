package paper_test

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// word is a word on a page as poppler finds it; in points, y downwards.
type word struct {
	XMin float64 `xml:"xMin,attr"`
	YMin float64 `xml:"yMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

// leaf is a page as poppler finds it.
type leaf struct {
	Width  float64 `xml:"width,attr"`
	Height float64 `xml:"height,attr"`
	Words  []word  `xml:"word"`
}

func leaves(t testing.TB, pdf []byte) []leaf {
	var doc struct {
		Pages []leaf `xml:"body>doc>page"`
	}
	require.NoError(t, xml.Unmarshal([]byte(poppler(t, pdf, "pdftotext", "-bbox")), &doc))
	require.NotEmpty(t, doc.Pages)
	return doc.Pages
}

// pageTexts is the text of each page.
func pageTexts(t testing.TB, pdf []byte) []string {
	pages := strings.Split(poppler(t, pdf, "pdftotext", "-layout"), "\f")
	return pages[:len(pages)-1]
}

// pageOf is the first page from a given one that has the text; pages count from 1.
func pageOf(t testing.TB, pages []string, from int, text string) int {
	for i := from; i <= len(pages); i++ {
		if strings.Contains(pages[i-1], text) {
			return i
		}
	}
	require.Fail(t, "not on any page", "%q from page %d", text, from)
	return 0
}

var streamStart = regexp.MustCompile(`/Length (\d+)[^>]*>>\nstream\n`)

// streams are the contents of the file's streams that are compressed and are not a
// typeface: what is painted on each page.
func streams(t testing.TB, pdf []byte) []string {
	var out []string
	for _, at := range streamStart.FindAllSubmatchIndex(pdf, -1) {
		n, err := strconv.Atoi(string(pdf[at[2]:at[3]]))
		require.NoError(t, err)
		r, err := zlib.NewReader(bytes.NewReader(pdf[at[1] : at[1]+n]))
		if err != nil {
			continue
		}
		content, err := io.ReadAll(r)
		require.NoError(t, err)
		if bytes.HasPrefix(content, []byte("0 J")) {
			out = append(out, string(content))
		}
	}
	require.NotEmpty(t, out)
	return out
}
