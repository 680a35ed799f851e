package member_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/journal/album"
	"pairwalk/events/journal/journaltest"
	"pairwalk/projection"
	"pairwalk/syncd"
	"pairwalk/syncd/member"
)

// image is a picture and its content.
func image(seed byte, size int) (events.Picture, []byte) {
	b := bytes.Repeat([]byte{seed, 1, 2, 3, byte(size)}, size/5+1)[:size]
	sum := sha256.Sum256(b)
	return events.Picture{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(size), Type: "image/jpeg"}, b
}

// takesPhoto keeps a picture and logs it.
func (d *device) takesPhoto(of events.Subject, seed byte, size int) (events.Picture, []events.Event) {
	d.team.t.Helper()
	p, b := image(seed, size)
	require.NoError(d.team.t, d.KeepPicture(p, b))
	return p, d.log(events.PhotoAdded{Of: of, Picture: p, Caption: "label"})
}

// views fetches pictures of another, for at most so many asks, and counts the asks
// and bytes.
func (d *device) views(from *device, most int) (asks, size int) {
	d.team.t.Helper()
	for asks != most {
		open := d.PictureAsks()
		if len(open) == 0 {
			break
		}
		require.Len(d.team.t, open, 1)
		ask := open[0]
		reply := from.shows(d, ask)
		if ask.OfPiece() {
			_, body, _ := bytes.Cut(reply, []byte{'\n'})
			size += len(body)
		}
		_, err := d.PictureAnswered(d.team.t.Context(), ask, reply)
		require.NoError(d.team.t, err)
		asks++
	}
	return asks, size
}

func (d *device) shows(to *device, ask syncd.PictureAsk) []byte {
	if ask.OfPiece() {
		return d.ShowPiece(to.bus(), ask.Encode())
	}
	return d.ShowHeld(ask.Encode())
}

// stateOf is where a device has a picture.
func (d *device) stateOf(p events.Picture) member.PictureState {
	d.team.t.Helper()
	for _, x := range d.Pictures(projection.Moment{}).Pictures {
		if x.SHA256 == p.SHA256 {
			return x.State
		}
	}
	require.FailNow(d.team.t, "no entry speaks of it")
	return ""
}

func TestPicturesFollowTheEntries(t *testing.T) {
	_, ada, ben := pairOf(t)
	p, _ := ada.takesPhoto(events.Device("1-001"), 7, 300_000)
	plan, b := image(8, 5000)
	require.NoError(t, ada.KeepPicture(plan, b))
	ada.log(events.DrawingPlaced{Floor: "1", Picture: plan, Pixel: 1000})

	require.Empty(t, ben.PictureAsks())
	ada.hears(ben)
	ben.hears(ada)
	asks := ben.Asks()
	require.NotEmpty(t, asks)
	require.Empty(t, ben.PictureAsks(), "entries are on their way")
	for _, ask := range asks {
		_, err := ben.Answered(t.Context(), ask, ada.Answer(ask.Pull.Encode(), nil))
		require.NoError(t, err)
	}
	ben.fetches(ada)
	require.Equal(t, member.PictureMissing, ben.stateOf(p))
	require.Equal(t, 2, ben.Pictures(projection.Moment{}).Away)
	_, err := ben.Picture(p.SHA256)
	require.ErrorIs(t, err, fs.ErrNotExist)

	grew, stop := ben.Watch()
	defer stop()
	ben.views(ada, 2)
	require.Equal(t, member.PictureHeld, ben.stateOf(plan), "the drawing comes first")
	<-grew
	ben.views(ada, 1)
	require.Equal(t, member.PictureComing, ben.stateOf(p))
	x := ben.Show(projection.Moment{}, events.Device("1-001")).Pictures
	require.Len(t, x, 1)
	require.Equal(t, int64(syncd.MaxPiece), x[0].Got)
	require.Equal(t, []string{"ada"}, x[0].HeldBy)
	require.Equal(t, "ada", x[0].By)
	require.Equal(t, "label", x[0].Caption)
	ben.views(ada, -1)
	<-grew
	require.Equal(t, member.PictureHeld, ben.stateOf(p))
	got, err := ben.Picture(p.SHA256)
	require.NoError(t, err)
	_, want := image(7, 300_000)
	require.Equal(t, want, got)
	require.Equal(t, ada.status(projection.Moment{}), ben.status(projection.Moment{}))

	ada.hears(ben)
	ada.fetches(ben)
	ada.views(ben, -1)
	require.Equal(t, syncd.Showing{Said: true, To: 305_000}, ada.Showing(ben.bus()))
}

// A process that dies in the middle goes on where it was.
func TestAPictureGoesOnAfterACrash(t *testing.T) {
	_, ada, ben := pairOf(t)
	p, _ := ada.takesPhoto(events.Site(), 7, 5*syncd.MaxPiece)
	ben.hears(ada)
	ben.fetches(ada)
	asks, first := ben.views(ada, 4)
	require.Equal(t, 4, asks)
	ben.reopen()
	require.Equal(t, member.PictureComing, ben.stateOf(p))
	ben.hears(ada)
	ben.fetches(ada)
	_, rest := ben.views(ada, -1)
	require.Equal(t, 3*syncd.MaxPiece, first)
	require.Equal(t, 5*syncd.MaxPiece, first+rest, "no byte came twice")
	require.Equal(t, member.PictureHeld, ben.stateOf(p))
}

// A withdrawn photo is shown to nobody any more, nor is one of somebody's whose
// word does not count, nor one that no entry speaks of.
func TestWhatDoesNotCountIsNotShown(t *testing.T) {
	x, ada, ben := pairOf(t)
	p, evs := ada.takesPhoto(events.Site(), 7, 1000)
	loose, b := image(9, 1000)
	require.NoError(t, ada.KeepPicture(loose, b))
	ben.hears(ada)
	ben.fetches(ada)
	_, err := ada.Void(t.Context(), evs[0].Ref(), events.WrongDetail, "it shows a passcode")
	require.NoError(t, err)
	_, size := ben.views(ada, -1)
	require.Zero(t, size)
	require.Equal(t, member.PictureMissing, ben.stateOf(p), "ben has not heard of it yet")
	for _, name := range []string{p.SHA256, loose.SHA256} {
		ask := syncd.PictureAsk{Piece: syncd.Piece{SHA256: name, Max: 10}}
		require.Contains(t, string(ada.shows(ben, ask)), `"unknown"`)
	}
	ben.hears(ada)
	ben.fetches(ada)
	require.Empty(t, ben.Pictures(projection.Moment{}).Pictures)

	viv := x.joins("viv", events.Viewer)
	viv.takes(ada.bundle())
	viv.takesPhoto(events.Site(), 11, 1000)
	ada.takes(viv.bundle())
	require.Empty(t, ada.Pictures(projection.Moment{}).Pictures, "a viewer may not say it")
}

func TestADamagedPictureIsFetchedAgain(t *testing.T) {
	_, ada, ben := pairOf(t)
	p, _ := ada.takesPhoto(events.Site(), 7, 300_000)
	ben.meets(ada)
	ben.views(ada, -1)
	for _, name := range ben.fs.Files() {
		if strings.HasSuffix(name, p.SHA256) {
			b, err := ben.fs.Read(name)
			require.NoError(t, err)
			b[1000] ^= 4
			ben.fs.Put(name, b)
		}
	}
	lost, err := ben.CheckPictures()
	require.NoError(t, err)
	require.Equal(t, []string{p.SHA256}, lost)
	require.Equal(t, member.PictureDamaged, ben.stateOf(p))
	_, err = ben.Picture(p.SHA256)
	require.ErrorIs(t, err, album.ErrDamaged)
	ben.reopen()
	require.Equal(t, member.PictureDamaged, ben.stateOf(p), "and he knows it later")
	ben.hears(ada)
	ben.views(ada, -1)
	require.Equal(t, member.PictureHeld, ben.stateOf(p))
}

func TestAPictureTooLarge(t *testing.T) {
	_, ada, ben := pairOf(t)
	p, b := image(7, events.MaxPicture+1)
	require.ErrorIs(t, ada.KeepPicture(p, b), album.ErrTooLarge)
	ada.log(events.PhotoAdded{Of: events.Site(), Picture: p}) // as another tool may
	ben.meets(ada)
	asks, _ := ben.views(ada, -1)
	require.Zero(t, asks)
	require.Equal(t, member.PictureTooLarge, ben.stateOf(p))
	require.Contains(t, ben.stateOf(p).Words(), "too large")
}

// A full disk is said, and what came goes on once there is room.
func TestAFullDiskStopsAPictureForAWhile(t *testing.T) {
	x, ada, _ := pairOf(t)
	p, _ := ada.takesPhoto(events.Site(), 7, 4*syncd.MaxPiece)
	var trap journaltest.Trap
	ben := x.joins("bo", events.Tech)
	require.NoError(t, ben.Close())
	m, err := member.NewHome(journaltest.Faulty(ben.fs, &trap), member.World{Now: ben.stamp, Rand: x.rand, MadeUp: true}).Open("")
	require.NoError(t, err)
	ben.Member = m
	ben.takes(ada.bundle())
	ben.hears(ada)
	ben.views(ada, 2)
	trap.Full = true
	ask := ben.PictureAsks()[0]
	_, err = ben.PictureAnswered(t.Context(), ask, ada.shows(ben, ask))
	require.ErrorIs(t, err, journaltest.ErrFault)
	var blame *syncd.Complaint
	require.False(t, errors.As(err, &blame), "it is not ada's fault")
	require.NotEmpty(t, ben.Pictures(projection.Moment{}).Trouble)
	require.Equal(t, member.PictureComing, ben.stateOf(p))
	trap.Full = false
	_, size := ben.views(ada, -1)
	require.Equal(t, 4*syncd.MaxPiece-syncd.MaxPiece-syncd.MaxPiece/2, size, "half of the piece was kept")
	require.Equal(t, member.PictureHeld, ben.stateOf(p))
	require.Empty(t, ben.Pictures(projection.Moment{}).Trouble)
}

func TestPicturesInAFile(t *testing.T) {
	_, ada, ben := pairOf(t)
	p, _ := ada.takesPhoto(events.Site(), 7, 3000)
	q, _ := ada.takesPhoto(events.Site(), 8, 4000)
	ada.log(events.PhotoAdded{Of: events.Floor("1"), Picture: p}) // the same once more
	var file bytes.Buffer
	written, away, err := ada.PhotosOut(&file)
	require.NoError(t, err)
	require.Equal(t, []int{2, 0}, []int{written, away})
	whole := file.Bytes()

	got, err := ben.PhotosIn(bytes.NewReader(whole))
	require.NoError(t, err)
	require.Equal(t, member.PhotosReceived{Spare: 2}, got, "no entry that he knows speaks of them")
	ben.takes(ada.bundle())
	spoilt := bytes.Clone(whole)
	_, content := image(7, 3000)
	spoilt[bytes.Index(spoilt, content)] ^= 1
	got, err = ben.PhotosIn(bytes.NewReader(spoilt))
	require.NoError(t, err)
	require.Equal(t, member.PhotosReceived{Fresh: 1, Wrong: 1}, got)
	for cut := range len(whole) - 1024 - 72 { // at the end are padding and two empty blocks
		if cut%97 != 0 {
			continue
		}
		if _, err := ben.PhotosIn(bytes.NewReader(whole[:cut])); cut%512 != 0 {
			require.Error(t, err, "cut at %d", cut)
		}
	}
	got, err = ben.PhotosIn(bytes.NewReader(whole))
	require.NoError(t, err)
	require.Equal(t, 2, got.Fresh+got.Known)
	require.Equal(t, member.PictureHeld, ben.stateOf(p))
	require.Equal(t, member.PictureHeld, ben.stateOf(q))
}
