package cobie_test

import (
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection"
)

// office finds LibreOffice. Without it the test is skipped; in CI that is a failure.
func office(t *testing.T) string {
	for _, name := range []string{"soffice", "libreoffice"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") != "" {
		t.Fatal("LibreOffice is not installed, and CI must have it")
	}
	t.Skip("no LibreOffice on this machine: install libreoffice-calc to open the workbook in a spreadsheet program")
	return ""
}

// everySheet has LibreOffice write each sheet as a CSV file, in UTF-8, every cell in
// quotes, as it shows.
const everySheet = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,true,true,false,false,false,-1"

// A spreadsheet program opens the workbook, calculates nothing, and shows the very
// cells that we wrote.
func TestASpreadsheetProgramReadsTheSame(t *testing.T) {
	program := office(t)
	for name, h := range map[string]*projection.History{"works": works(), "hostile": hostile()} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			ours := filepath.Join(dir, "cobie.xlsx")
			require.NoError(t, os.WriteFile(ours, workbook(t, h), 0o600))
			out, err := exec.Command(program, "-env:UserInstallation=file://"+filepath.Join(dir, "profile"),
				"--headless", "--norestore", "--convert-to", everySheet, "--outdir", dir, ours).CombinedOutput()
			require.NoError(t, err, string(out))
			n := 0
			for _, s := range book(h).Sheets {
				file, err := os.Open(filepath.Join(dir, "cobie-"+s.Name+".csv"))
				require.NoError(t, err, string(out))
				defer file.Close()
				read := csv.NewReader(file)
				rows, err := read.ReadAll()
				require.NoError(t, err, s.Name)
				require.Len(t, rows, len(s.Rows)+1, s.Name)
				for y, row := range s.Rows {
					for x, text := range row {
						require.Equal(t, asXML(text), rows[y+1][x], "%s.%s of %s", s.Name, s.Columns[x].Name, row[0])
						n++
					}
				}
			}
			require.Greater(t, n, 500)
		})
	}
}
