package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"pairwalk/events/intake"
)

// Errors of a file as a whole.
var (
	ErrNotWorkbook = errors.New("not a workbook that can be read here")
	ErrDamaged     = errors.New("damaged or cut off")
	ErrTooLarge    = errors.New("too large")
)

var (
	zipMagic = []byte("PK")
	oleMagic = []byte{0xD0, 0xCF, 0x11, 0xE0}
)

// Is says whether a file is a workbook, or one of the files that people take for
// one: Read says in words what is wrong with those.
func Is(data []byte) bool {
	return bytes.HasPrefix(data, []byte("PK\x03\x04")) || bytes.HasPrefix(data, []byte("PK\x05\x06")) || bytes.HasPrefix(data, oleMagic)
}

// open opens a workbook that is no larger than it should be.
func open(data []byte) (*excelize.File, error) {
	if bytes.HasPrefix(data, oleMagic) {
		return nil, ole(data)
	}
	if !bytes.HasPrefix(data, zipMagic) {
		return nil, fmt.Errorf("%w: it is no zip file", ErrNotWorkbook)
	}
	if len(data) > intake.MaxBytes {
		return nil, fmt.Errorf("%w: more than %d MiB; split it", ErrTooLarge, intake.MaxBytes>>20)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fmt.Errorf("%w: get the file again", ErrDamaged)
	}
	if err := measure(z); err != nil {
		return nil, err
	}
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{
		UnzipSizeLimit:    unpackedMost,
		UnzipXMLSizeLimit: unpackedMost, // the same, or it would write large sheets to temporary files
	})
	if err != nil {
		return nil, fmt.Errorf("%w: get the file again (%w)", ErrDamaged, err)
	}
	return f, nil
}

// ole says what a compound file is: an old workbook, or a new one behind a
// password, which is wrapped in such a file (MS-OFFCRYPTO §2.3.4.4; value from
// memory).
func ole(data []byte) error {
	var locked []byte
	for _, c := range utf16.Encode([]rune("EncryptedPackage")) {
		locked = append(locked, byte(c), byte(c>>8))
	}
	if bytes.Contains(data, locked) {
		return fmt.Errorf("%w: it is behind a password; save it without one", ErrNotWorkbook)
	}
	return fmt.Errorf("%w: it is an old binary file, such as .xls; save it as .xlsx, or as CSV in UTF-8", ErrNotWorkbook)
}

// other says what a zip file is that holds no workbook.
func other(z *zip.Reader) error {
	for _, f := range z.File {
		switch {
		case strings.EqualFold(f.Name, "xl/workbook.bin"):
			return fmt.Errorf("%w: it is a binary workbook (.xlsb); save it as .xlsx, or as CSV in UTF-8", ErrNotWorkbook)
		case f.Name == "mimetype":
			return fmt.Errorf("%w: it is an OpenDocument file, such as .ods; save it as .xlsx, or as CSV in UTF-8", ErrNotWorkbook)
		case strings.HasPrefix(f.Name, "word/"):
			return fmt.Errorf("%w: it is a text document; copy its table into a spreadsheet", ErrNotWorkbook)
		}
	}
	return fmt.Errorf("%w: it is a zip file of something else; unpack it first", ErrNotWorkbook)
}
