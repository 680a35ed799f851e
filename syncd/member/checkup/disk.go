package checkup

import (
	"fmt"
	"time"
)

// Assumptions of what a log needs; no source says better.
const (
	syncSlow  = 250 * time.Millisecond // for a small file to be on disk
	roomLeast = 1 << 20                // beside what mending a file takes
	roomWell  = 64 << 20               // a season of entries, each under 1 KiB
)

func (r Readings) disk(x *told) {
	f := r.Folder
	switch {
	case f.Wrong != "":
		x.add(Finding{Kind: "disk.folder", State: Wrong, Words: fmt.Sprintf("The folder %s can't be used: %s.", r.Home, f.Wrong), Do: "Put it right, or say with --home which folder is meant."})
		return
	case !f.There:
		x.well("disk.folder", fmt.Sprintf("There is no folder %s yet; the first site makes it.", r.Home))
		return
	}
	f.writing(x)
	r.room(x)
	f.lies(x)
	r.private(x)
	r.others(x)
}

func (f Folder) writing(x *told) {
	switch {
	case f.Write != "":
		x.add(Finding{Kind: "disk.write", State: Wrong, Words: fmt.Sprintf("Nothing can be written here: %s.", f.Write), Do: "Until that is put right no entry can be recorded; what is here can still be read with --bundle from a copy."})
	case f.Sync > syncSlow:
		x.add(Finding{Kind: "disk.write", State: Look, Words: fmt.Sprintf("A small file takes %s until it is on disk; every entry waits that long.", lasting(f.Sync)), Do: "A worn or busy disk is slow like that: look at its health, and keep a copy of the log elsewhere.", Run: "bundle out FILE"})
	default:
		x.well("disk.write", fmt.Sprintf("Writing works: a small file is on disk within %s.", lasting(max(f.Sync, time.Millisecond))))
	}
}

// room compares what is free with what the log may need: a file that is mended is
// written whole beside the old one, and pictures that entries speak of are to come.
func (r Readings) room(x *told) {
	if !r.Folder.Room.Known {
		x.well("disk.room", "How much room is left can't be told on this system.")
		return
	}
	free, most, bytes, coming := r.Folder.Room.Value, int64(0), int64(0), int64(0)
	for _, s := range r.Sites {
		most, bytes = max(most, s.Most), bytes+s.Bytes
		if s.Opened != nil {
			coming += s.Opened.Pictures.Bytes
		}
	}
	needs := ""
	if coming > 0 {
		needs = fmt.Sprintf(", and pictures of %s are to come", bytesOf(coming))
	}
	words := fmt.Sprintf("%s free; the log has %s%s", bytesOf(free), bytesOf(bytes), needs)
	switch {
	case free < most+roomLeast:
		x.add(Finding{Kind: "disk.room", State: Wrong, Words: fmt.Sprintf("The disk is all but full: %s.", words), Do: "Make room now. An entry that finds none is refused, and said to be; what is recorded stays."})
	case free < most+coming+roomWell:
		x.add(Finding{Kind: "disk.room", State: Look, Words: fmt.Sprintf("There is little room: %s.", words), Do: "Make room before the day's work."})
	default:
		x.well("disk.room", words+".")
	}
}

func (f Folder) lies(x *told) {
	sort := ""
	if f.System != "" {
		sort = " (" + f.System + ")"
	}
	const move = "Keep the log on a disk of this device, and exchange it by sync or bundle: those can't overwrite it."
	switch f.Lies {
	case Share:
		x.add(Finding{Kind: "disk.place", State: Look, Words: fmt.Sprintf("The folder lies on another machine, over a network%s: locks and syncs there may promise more than they keep.", sort), Do: move})
	case Synced:
		x.add(Finding{Kind: "disk.place", State: Look, Words: "The folder lies where the system keeps copies in step with a service: that may put an old copy in place of a new one.", Do: move})
	case Memory:
		x.add(Finding{Kind: "disk.place", State: Look, Words: fmt.Sprintf("The folder lies in memory%s: when this device goes off, it is gone.", sort), Do: "Use a folder on a disk with --home DIR, unless this is for a trial."})
	case Here:
		x.well("disk.place", fmt.Sprintf("The folder lies on a disk of this device%s, as far as the system tells.", sort))
	case Unsaid:
		x.well("disk.place", fmt.Sprintf("Where the folder lies can't be told on this system%s; keep it off network shares and out of folders that are kept in step with a service.", sort))
	}
}

func (r Readings) private(x *told) {
	if !r.Folder.Modes {
		x.well("disk.private", "Who may read the keys is not looked at on this system.")
		return
	}
	all := true
	for _, s := range r.Sites {
		for _, e := range s.Open {
			all = false
			f := Finding{Kind: "disk.private", State: Look, Words: fmt.Sprintf("Others on this device may look into %s.", e.Path), Do: "Close it to them.", Run: fmt.Sprintf("!chmod %s '%s'", e.Want, e.Path)}
			if e.Secret {
				f.State, f.Words = Wrong, fmt.Sprintf("Others on this device may read the secret keys in %s.", e.Path)
				f.Do = "Close it to them; if somebody may have read it, have a lead revoke you and join again with a new invite."
			}
			x.add(f)
		}
	}
	if all && len(r.Sites) > 0 {
		x.well("disk.private", "Keys and log are readable by this user alone.")
	}
}

func (r Readings) others(x *told) {
	for _, s := range r.Sites {
		if len(s.Others) > 0 {
			x.add(Finding{Kind: "disk.others", State: Look, Places: s.Others,
				Words: fmt.Sprintf("There %s %s in the folder of %s that pairwalk did not make: %s.", verb(len(s.Others)), counted(len(s.Others), "file"), s.called(), listed(s.Others)),
				Do:    "If a program that keeps folders in step puts them there, take this folder out of its care; the files themselves do no harm."})
		}
	}
}

// called is what people know a site by.
func (s Site) called() string {
	if s.Name == "" {
		return "site " + s.handle()
	}
	return s.Name
}
