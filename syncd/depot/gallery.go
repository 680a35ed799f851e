package depot

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"sync"

	"github.com/nats-io/nats.go/jetstream"

	"pairwalk/events/journal/album"
)

const (
	bucketName   = "PAIRWALK_PICTURES"
	recentMost   = 32 << 20 // bytes of pictures that stay in memory while others fetch them
	pictureWaits = attemptWithin * 5
)

// gallery is the pictures of all sites in the cluster, each named by its content.
type gallery struct {
	c       *cluster
	objects jetstream.ObjectStore
	stop    context.CancelFunc
	work    sync.WaitGroup

	mu      sync.Mutex
	held    map[string]bool
	damaged map[string]bool
	recent  []picture
}

type picture struct {
	name    string
	content []byte
}

// openGallery finds the pictures that are there, and hears of more.
func openGallery(ctx context.Context, c *cluster) (*gallery, error) {
	g := &gallery{c: c, held: map[string]bool{}, damaged: map[string]bool{}}
	ctx, cancel := context.WithTimeout(ctx, reachWithin*c.opts.Patience)
	defer cancel()
	var err error
	for {
		if g.objects, err = c.bucket(ctx); err == nil {
			break
		}
		if !c.comesBack(err) || pause(ctx, pauseBetween) != nil {
			return nil, fmt.Errorf("find the cluster's pictures: %w", err)
		}
	}
	watching, stop := context.WithCancel(context.WithoutCancel(ctx))
	g.stop = stop
	g.work.Go(func() { g.watch(watching) })
	return g, nil
}

// bucket finds the cluster's pictures, or makes room for them.
func (c *cluster) bucket(ctx context.Context) (jetstream.ObjectStore, error) {
	ctx, cancel := context.WithTimeout(ctx, attemptWithin)
	defer cancel()
	at, err := c.js.ObjectStore(ctx, bucketName)
	if errors.Is(err, jetstream.ErrBucketNotFound) {
		return c.js.CreateObjectStore(ctx, jetstream.ObjectStoreConfig{
			Bucket: bucketName, Description: "pictures that entries of pairwalk sites speak of", Storage: jetstream.FileStorage, Replicas: c.opts.Replicas,
		})
	}
	return at, err
}

func (g *gallery) close() {
	g.stop()
	g.work.Wait()
}

// watch learns which pictures the cluster holds, until ctx ends. Where that breaks
// off, all are told again.
func (g *gallery) watch(ctx context.Context) {
	for ; ctx.Err() == nil; _ = pause(ctx, pauseBetween) {
		w, err := g.objects.Watch(ctx)
		if err != nil {
			continue
		}
		for x := range w.Updates() {
			if x != nil {
				g.note(x.Name, !x.Deleted)
			}
		}
		_ = w.Stop()
	}
}

func (g *gallery) note(name string, held bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if held {
		g.held[name] = true
		delete(g.damaged, name)
	} else {
		delete(g.held, name)
	}
}

// put keeps a picture in the cluster.
func (g *gallery) put(name string, content []byte) error {
	if nameOf(content) != name {
		return fmt.Errorf("keep picture: %w", album.ErrWrong)
	}
	ctx, cancel := context.WithTimeout(context.Background(), max(g.c.opts.Patience, pictureWaits))
	defer cancel()
	if _, err := g.objects.Put(ctx, jetstream.ObjectMeta{Name: name}, bytes.NewReader(content)); err != nil {
		return fmt.Errorf("keep picture: %w (%w)", ErrNoQuorum, err)
	}
	g.note(name, true)
	return nil
}

// read reads a picture and compares it with its name. What is not that picture
// counts as missing from then on.
func (g *gallery) read(name string) ([]byte, error) {
	g.mu.Lock()
	held := g.held[name]
	i := slices.IndexFunc(g.recent, func(p picture) bool { return p.name == name })
	if i >= 0 {
		content := g.recent[i].content
		g.mu.Unlock()
		return content, nil
	}
	g.mu.Unlock()
	if !held {
		return nil, missing(name)
	}
	ctx, cancel := context.WithTimeout(context.Background(), pictureWaits)
	defer cancel()
	content, err := g.objects.GetBytes(ctx, name)
	spoilt := errors.Is(err, jetstream.ErrObjectNotFound) || errors.Is(err, jetstream.ErrDigestMismatch) || err == nil && nameOf(content) != name
	switch {
	case spoilt:
		g.mu.Lock()
		defer g.mu.Unlock()
		delete(g.held, name)
		g.damaged[name] = true
		return nil, errors.Join(missing(name), album.ErrDamaged)
	case err != nil:
		return nil, fmt.Errorf("read picture: %w", err)
	}
	g.keepRecent(picture{name, content})
	return content, nil
}

func (g *gallery) keepRecent(p picture) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.recent = append(g.recent, p)
	size := 0
	for i := len(g.recent) - 1; i >= 0; i-- {
		if size += len(g.recent[i].content); size > recentMost {
			g.recent = slices.Clone(g.recent[i+1:])
			return
		}
	}
}

func (g *gallery) names() []string {
	g.mu.Lock()
	defer g.mu.Unlock()
	return slices.Sorted(maps.Keys(g.held))
}

func missing(name string) error {
	return &fs.PathError{Op: "read", Path: name, Err: fs.ErrNotExist}
}

func nameOf(content []byte) string {
	sum := sha256.Sum256(content)
	return hex.EncodeToString(sum[:])
}

func (g *gallery) forget(name string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.recent = slices.DeleteFunc(g.recent, func(p picture) bool { return p.name == name })
}
