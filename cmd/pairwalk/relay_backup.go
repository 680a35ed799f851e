package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"

	"pairwalk/events"
	"pairwalk/events/bundle"
	"pairwalk/syncd/member"
	"pairwalk/syncd/relay"
)

// How the files of a site are called in a backup, after its id.
const (
	backupLog    = ".pairwalk"
	backupPhotos = ".photos.tar"
)

type relayBackupCmd struct {
	officeFlags
	Folder string `arg:"" help:"Where to write it; what an earlier backup left there is replaced, file by file."`
}

func (relayBackupCmd) Help() string {
	return "Example: pairwalk relay backup /backup/pairwalk\n\n" +
		"For each site a bundle of its log and a file of its pictures, while the relay runs or not. Each is whole as of one moment. " +
		"No keys are in it: a relay that is lost joins its sites anew, and takes the backup in with: pairwalk relay restore."
}

func (c *relayBackupCmd) Run(a *app) error {
	office, err := c.office(a, a.waitingLog())
	if err != nil {
		return err
	}
	defer office.Close()
	seats, bad := office.Sites(a.ctx)
	if len(seats) == 0 && bad != nil {
		return bad
	}
	if err := os.MkdirAll(c.Folder, 0o700); err != nil {
		return fmt.Errorf("write backup: %w", err)
	}
	copies := office.copier()
	var failed []error
	done := 0
	bar := a.progress(len(seats), "copying")
	for _, seat := range seats {
		if err := a.backUp(c.Folder, seat, copies); err != nil {
			failed = append(failed, fmt.Errorf("%s: %w", seat.Name, err))
		} else {
			done++
		}
		_ = bar.Add(1)
	}
	_ = bar.Finish()
	if a.cli.JSON {
		err = a.printJSON(map[string]any{"v": member.AnswerVersion, "folder": c.Folder, "sites": done, "failed": len(failed)})
	} else {
		a.printf("%s holds the logs and pictures of %s.\n", c.Folder, plural(done, "site"))
	}
	return errors.Join(append(failed, bad, err)...)
}

// backUp writes the files of one site.
func (a *app) backUp(folder string, seat relay.Seat, copies copier) error {
	for _, x := range []struct{ what, end string }{{ofLog, backupLog}, {ofPhotos, backupPhotos}} {
		err := a.writeFile(filepath.Join(folder, string(seat.Site)+x.end), true, func(f io.Writer) error {
			return copies(a.ctx, seat.Site, x.what, f)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// copier writes what a relay holds of a site.
type copier func(ctx context.Context, site events.SiteID, what string, w io.Writer) error

// copier copies by way of the relay that runs in this home, or else from the files.
func (o relayOffice) copier() copier {
	if c := atHatch(o.folder); c != nil {
		return func(ctx context.Context, site events.SiteID, what string, w io.Writer) error {
			return askHatch(ctx, c, string(site)+"/"+what, w)
		}
	}
	return func(ctx context.Context, site events.SiteID, what string, w io.Writer) error {
		m, err := o.Open(ctx, site)
		if err != nil {
			return err
		}
		return errors.Join(copyOut(ctx, m, what, w), m.Close())
	}
}

// askHatch takes a copy out of a relay that runs. One that ends too soon is an error.
func askHatch(ctx context.Context, c *http.Client, path string, w io.Writer) error {
	q, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://relay/"+path, nil)
	if err != nil {
		return err
	}
	r, err := c.Do(q)
	if err != nil {
		return fmt.Errorf("ask the relay that runs: %w", err)
	}
	defer r.Body.Close()
	if r.StatusCode != http.StatusOK {
		why, _ := io.ReadAll(io.LimitReader(r.Body, 1<<10))
		return fmt.Errorf("the relay that runs: %s", strings.TrimSpace(string(why)))
	}
	_, err = io.Copy(w, r.Body)
	return err
}

type relayRestoreCmd struct {
	officeFlags
	Folder string `arg:"" help:"A folder that backup has written."`
}

func (relayRestoreCmd) Help() string {
	return "Example: pairwalk relay restore /backup/pairwalk\n\n" +
		"For a relay whose disk is lost: join each site anew first, by a new invite; then this takes in what the backup holds of them. " +
		"Doing it twice does no harm. Have a lead revoke the lost relay."
}

func (c *relayRestoreCmd) Run(a *app) error {
	office, err := c.office(a, a.waitingLog())
	if err != nil {
		return err
	}
	defer office.Close()
	if atHatch(office.folder) != nil {
		return errors.New("the relay of this home runs; stop it, restore, and start it again")
	}
	seats, err := office.Sites(a.ctx)
	if err != nil {
		return err
	}
	joined := map[string]bool{}
	for _, s := range seats {
		joined[string(s.Site)] = true
	}
	logs, err := filepath.Glob(filepath.Join(c.Folder, "*"+backupLog))
	if err != nil || len(logs) == 0 {
		return fmt.Errorf("%s holds no backup of a relay", c.Folder)
	}
	var sum restored
	for _, name := range logs {
		id := strings.TrimSuffix(filepath.Base(name), backupLog)
		if !joined[id] {
			sum.away = append(sum.away, siteIn(name))
			continue
		}
		sum.take(a.ctx, office, events.SiteID(id), name)
	}
	return sum.report(a)
}

// restored is what came of taking a backup in.
type restored struct {
	sites, entries, pictures int
	away                     []string // names of sites not joined
	failed                   []error
}

func (r *restored) take(ctx context.Context, office relay.Office, id events.SiteID, name string) {
	m, err := office.Open(ctx, id)
	if err != nil {
		r.failed = append(r.failed, err)
		return
	}
	entries, err := takeFile(name, func(f io.Reader) (int, error) {
		got, err := m.BundleIn(ctx, f)
		return got.Fresh, err
	})
	pictures := 0
	if err == nil {
		pictures, err = takeFile(strings.TrimSuffix(name, backupLog)+backupPhotos, func(f io.Reader) (int, error) {
			got, err := m.PhotosIn(f)
			return got.Fresh, err
		})
	}
	r.entries, r.pictures = r.entries+entries, r.pictures+pictures
	if err = errors.Join(err, m.Close()); err != nil {
		r.failed = append(r.failed, fmt.Errorf("%s: %w", m.Info().Name, err))
		return
	}
	r.sites++
}

func takeFile(name string, take func(io.Reader) (int, error)) (int, error) {
	f, err := os.Open(name)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	return take(f)
}

// siteIn is the name of the site in a bundle, as far as it can be read.
func siteIn(name string) string {
	f, err := os.Open(name)
	if err != nil {
		return filepath.Base(name)
	}
	defer f.Close()
	b, err := bundle.Read(f)
	if err != nil {
		return filepath.Base(name) + " (" + err.Error() + ")"
	}
	return b.Name
}

func (r *restored) report(a *app) error {
	if a.cli.JSON {
		err := a.printJSON(map[string]any{"v": member.AnswerVersion, "sites": r.sites, "entries": r.entries, "pictures": r.pictures, "not_joined": texts(r.away), "failed": len(r.failed)})
		r.failed = append(r.failed, err)
	} else {
		a.printf("Took in %s and %s of %s.\n", plural(r.entries, "entry"), plural(r.pictures, "picture"), plural(r.sites, "site"))
	}
	err := errors.Join(r.failed...)
	if len(r.away) > 0 {
		err = errors.Join(err, fmt.Errorf("not joined yet: %s; a lead of each makes an invite (%s invite --role relay); join by it, and restore again", strings.Join(r.away, ", "), a.name))
	}
	return err
}
