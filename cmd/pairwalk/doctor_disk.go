package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"time"

	"pairwalk/syncd/member/checkup"
)

// readFolder looks at the folder of an installation and the disk under it. It
// leaves nothing behind.
func readFolder(dir string) checkup.Folder {
	f := checkup.Folder{Modes: runtime.GOOS != "windows"}
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return f
	case err != nil:
		f.Wrong = err.Error()
		return f
	case !info.IsDir():
		f.Wrong = "it is a file"
		return f
	}
	if _, err := os.ReadDir(dir); err != nil {
		f.Wrong = err.Error()
		return f
	}
	f.There = true
	f.Room, f.System, f.Lies = readVolume(dir)
	if placedBySystem(dir) {
		f.Lies = checkup.Synced
	}
	f.Sync, err = probe(dir)
	if err != nil {
		f.Write = err.Error()
	}
	return f
}

// placedBySystem says whether a folder is where macOS keeps what it holds in step
// with a service.
func placedBySystem(dir string) bool {
	if runtime.GOOS != "darwin" {
		return false
	}
	return strings.Contains(dir, "/Library/CloudStorage/") || strings.Contains(dir, "/Library/Mobile Documents/")
}

const (
	probes     = 3
	probeBytes = 4 << 10
)

// probe writes a small file, waits until it is on disk and takes it away, a few
// times, and returns the middle time.
func probe(dir string) (time.Duration, error) {
	var took []time.Duration
	for range probes {
		began := time.Now()
		if err := probeOnce(dir); err != nil {
			return 0, err
		}
		took = append(took, time.Since(began))
	}
	slices.Sort(took)
	return took[len(took)/2], nil
}

func probeOnce(dir string) error {
	f, err := os.CreateTemp(dir, ".doctor-")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	if _, err = f.Write(make([]byte, probeBytes)); err == nil {
		err = f.Sync()
	}
	return errors.Join(err, f.Close())
}

// ours are the names that this program and its libraries give to files in a site's
// folder and the folders in it.
var ours = regexp.MustCompile(`^(keys\.(json|lock)|heard\.json|meet\.json|refused\.json|page\.(token|crt|key)|receipts|mark|lock|serving)(\.new)?$` +
	`|^feeds/[^/]+\.(ndjson(\.new)?|torn(-\d+)?(\.new)?|damaged-\d+(\.new)?)$` +
	`|^pictures/[0-9a-f]{64}(\.(part|damaged|new))?$`)

// secretFiles are those that hold what must not be read by others.
var secretFiles = regexp.MustCompile(`^(keys\.json|page\.(token|key))$`)

// wholly are the files that are written whole beside the old one when they are
// mended.
var wholly = regexp.MustCompile(`^(feeds/.*|receipts|mark)$`)

// readFiles looks at a site's files: how large, whose, and who else may read them.
func readFiles(s *checkup.Site) {
	_ = filepath.WalkDir(s.Folder, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return nil // told of where the log can't be read
		}
		rel, _ := filepath.Rel(s.Folder, name)
		rel = filepath.ToSlash(rel)
		info, err := d.Info()
		if err != nil {
			return nil // gone since
		}
		exposed := runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0
		switch {
		case d.IsDir():
			if rel == "." && exposed {
				s.Open = append(s.Open, checkup.Exposed{Path: name, Want: "700"})
			}
			return nil
		case secretFiles.MatchString(rel) && exposed:
			s.Open = append(s.Open, checkup.Exposed{Path: name, Secret: true, Want: "600"})
		case !ours.MatchString(rel):
			s.Others = append(s.Others, rel)
		}
		s.Bytes += info.Size()
		if wholly.MatchString(rel) {
			s.Most = max(s.Most, info.Size())
		}
		return nil
	})
}
