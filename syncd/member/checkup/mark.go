package checkup

import "fmt"

const copied = "If another installation goes on with the same folder, use only one of the two. What is here stays; your next entry begins a new feed by itself."

// mark compares the copy of the mark in the site's folder with the one outside.
// That the next opening writes both is why a single missing one is no harm.
func (s *Site) mark(x *told) {
	in, out := s.In, s.Out
	f := Finding{Kind: "mark.copies", State: Wrong}
	switch {
	case s.Markless != "":
		f.Words, f.Do = fmt.Sprintf("The mark can't be read: %s.", s.Markless), "Make its files readable for yourself, or look after the disk."
	case !in.There && !out.There:
		if len(s.Report.Strands) == 0 && in.Wrong+out.Wrong == "" {
			x.well("mark.copies", "There is no mark yet; the first opening makes it.")
			return
		}
		f.Words, f.Do = "Neither copy of the mark can be read, so it is not known which feed is this installation's own.", copied
	case !in.There:
		f.State, f.Words, f.Do = Look, fmt.Sprintf("The mark in the site's folder %s; its copy outside stands in.", gone(in.Wrong)), "The next opening writes it anew by itself."
	case !out.There && out.Wrong != "":
		f.State, f.Words, f.Do = Look, "The copy of the mark outside the site's folder is damaged; the one inside stands in.", "The next opening writes it anew by itself."
	case !out.There:
		f.Words, f.Do = "There is no copy of the mark outside the site's folder, as where the folder was copied from elsewhere.", copied
	case in.Turn > out.Turn:
		f.Words, f.Do = fmt.Sprintf("The mark in the site's folder is newer (turn %d) than its copy outside (turn %d), as where the folder was copied from elsewhere.", in.Turn, out.Turn), copied
	case in.Turn+1 < out.Turn:
		f.Words, f.Do = fmt.Sprintf("The mark in the site's folder is older (turn %d) than its copy outside (turn %d), as where the folder was put back from a backup.", in.Turn, out.Turn), copied
	default:
		s.marked(x)
		return
	}
	x.add(f)
}

// marked is for copies that agree. One turn between them is a stop between two
// writings.
func (s *Site) marked(x *told) {
	turn := fmt.Sprintf("Both copies of the mark agree (turn %d)", s.Out.Turn)
	switch {
	case s.Out.Clean && s.In.Clean:
		x.well("mark.copies", turn+", and the log was closed properly.")
	case s.Held != Free:
		x.well("mark.copies", turn+"; the log is open.")
	default:
		x.add(Finding{Kind: "mark.copies", State: Look, Words: turn + "; the last process that had the log open was stopped before it could close it.", Do: "The next opening checks everything and goes on; nothing that was said to be recorded is lost by that."})
	}
}

func gone(wrong string) string {
	if wrong == "" {
		return "is missing"
	}
	return "can't be used (" + wrong + ")"
}
