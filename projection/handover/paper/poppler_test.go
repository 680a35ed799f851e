package paper_test

import (
	"bytes"
	"hash/crc32"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/projection/handover"
	"pairwalk/projection/handover/paper"
)

// These tests read the file with poppler, which other people wrote. Without it they
// are skipped; in CI that is a failure.

func crc(b []byte) uint32 { return crc32.ChecksumIEEE(b) }

func printed(t testing.TB, d handover.Document) []byte {
	var buf bytes.Buffer
	require.NoError(t, paper.Write(&buf, d))
	return buf.Bytes()
}

// poppler runs one of its programs on a file: name, options, then the file.
func poppler(t testing.TB, pdf []byte, name string, options ...string) string {
	program, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("CI") != "" {
			t.Fatalf("%s is not installed, and CI must have it", name)
		}
		t.Skipf("no %s on this machine: install poppler-utils to read the file back", name)
	}
	path := filepath.Join(t.TempDir(), "pack.pdf")
	require.NoError(t, os.WriteFile(path, pdf, 0o600))
	c := exec.Command(program, append(options, path)...)
	if name == "pdftotext" {
		c.Args = append(c.Args, "-")
	}
	var complaint bytes.Buffer
	c.Stderr = &complaint
	out, err := c.Output()
	require.NoError(t, err, complaint.String())
	require.Empty(t, complaint.String())
	return string(out)
}
