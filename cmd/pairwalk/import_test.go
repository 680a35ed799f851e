package main

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pairwalk/events/intake"
	"pairwalk/projection/radio"
)

// TestMaterialsAreAllKnownToTheRadio holds the two lists together: intake may not
// stand on radio, and a wall of a material without a loss would be no wall.
func TestMaterialsAreAllKnownToTheRadio(t *testing.T) {
	require.ElementsMatch(t, radio.Materials(), intake.Materials())
}

// makeWorkbook makes a workbook of CSV files: workbook OUT.xlsx NAME=FILE.csv …
// What looks like a number is one, as if it had been typed in.
func makeWorkbook(ts *testscript.TestScript, _ bool, args []string) {
	f := excelize.NewFile()
	for i, arg := range args[1:] {
		name, file, ok := strings.Cut(arg, "=")
		if !ok {
			ts.Fatalf("%s is not NAME=FILE", arg)
		}
		if i == 0 {
			ts.Check(f.SetSheetName("Sheet1", name))
		} else {
			_, err := f.NewSheet(name)
			ts.Check(err)
		}
		rows, err := csv.NewReader(strings.NewReader(ts.ReadFile(file))).ReadAll()
		ts.Check(err)
		for r, row := range rows {
			for c, text := range row {
				ref, err := excelize.CoordinatesToCellName(c+1, r+1)
				ts.Check(err)
				if v, err := strconv.ParseFloat(text, 64); err == nil {
					ts.Check(f.SetCellValue(name, ref, v))
				} else {
					ts.Check(f.SetCellValue(name, ref, text))
				}
			}
		}
	}
	out, err := f.WriteToBuffer()
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), out.Bytes(), 0o600))
}

func TestASheetIsNamedBehindItsFile(t *testing.T) {
	for _, tt := range []struct{ arg, file, table string }{
		{"plan.xlsx", "plan.xlsx", ""},
		{"plan.xlsx#Walls", "plan.xlsx", "Walls"},
		{"PLAN.XLSM#Wi-Fi #2", "PLAN.XLSM", "Wi-Fi #2"},
		{"site#3/plan.xlsx#A", "site#3/plan.xlsx", "A"},
		{"İ#plan.xlsx#A", "İ#plan.xlsx", "A"},
		{"plan#2.csv", "plan#2.csv", ""},
		{"-", "-", ""},
	} {
		t.Run(tt.arg, func(t *testing.T) {
			file, table := (&importCmd{File: tt.arg}).split()
			require.Equal(t, []string{tt.file, tt.table}, []string{file, table})
		})
	}
}
