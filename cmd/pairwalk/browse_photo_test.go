package main

import (
	"encoding/json"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// A photo that is not on this device is said so in words, and is there by itself as
// soon as it has come.
func TestAPhotoThatComesLater(t *testing.T) {
	s := newShop(t)
	run := s.opens()
	var invite struct{ Token string }
	require.NoError(t, json.Unmarshal([]byte(s.runs("ann", "--json", "invite")), &invite))
	s.runs("bo", "join", invite.Token, "--as", "Bo")
	s.carries("ann", "bo")
	shot := filepath.Join(t.TempDir(), "label.png")
	f, err := os.Create(shot)
	require.NoError(t, err)
	require.NoError(t, png.Encode(f, image.NewGray(image.Rect(0, 0, 40, 30))))
	require.NoError(t, f.Close())
	s.runs("bo", "log", "photo", "1-102", shot, "--caption", "the label")
	log, photos := filepath.Join(t.TempDir(), "bo.log"), filepath.Join(t.TempDir(), "bo.tar")
	s.runs("bo", "bundle", "out", log, "--photos", photos)
	s.runs("ann", "bundle", "in", log)

	p := open(t, newBrowser(t), "Ann", run.page)
	p.sees("1 picture is not here yet")
	p.goes("story?subject=device:1-102")
	p.tap("photo of 1-102")
	p.sees("The photo is not on this device yet. It comes when somebody is met who holds it.")
	p.picture("photo-away")
	p.expects("404")
	s.runs("ann", "bundle", "in", log, "--photos", photos)
	p.holds(`document.querySelector('img.story-photo')?.naturalWidth === 40`, "the photo")
	p.misses("not here yet")
	p.misses("not on this device yet")
	p.picture("photo-here")
}
