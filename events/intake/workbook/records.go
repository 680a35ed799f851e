package workbook

import (
	"bytes"

	"pairwalk/events/intake"
)

// Records reads the office's rows of a file, be it a workbook or text.
func Records(data []byte) ([]intake.Record, error) {
	if !Is(data) {
		return intake.ReadRecords(bytes.NewReader(data))
	}
	tables, err := Read(data)
	if err != nil {
		return nil, err
	}
	return intake.RecordTables(tables)
}
