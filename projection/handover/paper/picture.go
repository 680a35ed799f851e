package paper

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	_ "image/gif" // the forms a picture may have
	"image/jpeg"
	_ "image/png"

	_ "golang.org/x/image/webp"
)

const (
	mostPixels = 32 << 20 // of a picture that is opened at all
	printed    = 1600     // pixels along the longer side that paper can use
	quality    = 85
)

// picture is a picture made ready: a JPEG of our own making.
type picture struct {
	jpeg          []byte
	width, height int
}

// develop opens a picture and makes it ready for paper: upright, no finer than paper
// can use, and without anything else the file may carry, such as where it was taken.
// What a picture asks for is looked at before it is given memory. The error says to
// people why it can't be shown.
func develop(content []byte) (out picture, err error) {
	defer func() {
		// Decoders read what strangers made. A fault in one costs one picture.
		if recover() != nil {
			out, err = picture{}, errors.New("its content is damaged")
		}
	}()
	conf, form, err := image.DecodeConfig(bytes.NewReader(content))
	if err != nil {
		return picture{}, errors.New("it is no JPEG, PNG, GIF or WebP, or damaged")
	}
	if conf.Width <= 0 || conf.Height <= 0 {
		return picture{}, errors.New("it has no pixels")
	}
	if conf.Width > mostPixels/conf.Height {
		return picture{}, fmt.Errorf("it has %d x %d pixels, more than the %d million that are opened", conf.Width, conf.Height, mostPixels>>20)
	}
	full, _, err := image.Decode(bytes.NewReader(content))
	if err != nil {
		return picture{}, errors.New("its content is damaged")
	}
	turn := upright
	if form == "jpeg" {
		turn = orientation(content)
	}
	small := shrink(full, turn)
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, small, &jpeg.Options{Quality: quality}); err != nil {
		return picture{}, errors.New("it can't be written again")
	}
	return picture{buf.Bytes(), small.Bounds().Dx(), small.Bounds().Dy()}, nil
}

// shrink turns a picture upright and takes the mean of as many pixels as make it no
// larger than paper can use. It counts in whole numbers, so that every processor
// gives the same picture. What is see-through becomes white.
func shrink(src image.Image, turn turning) *image.RGBA {
	b := src.Bounds()
	n := (max(b.Dx(), b.Dy()) + printed - 1) / printed
	w, h := max(b.Dx()/n, 1), max(b.Dy()/n, 1)
	strip := image.NewRGBA(image.Rect(0, 0, b.Dx(), n))
	dw, dh := w, h
	if turn.swaps {
		dw, dh = h, w
	}
	out := image.NewRGBA(image.Rect(0, 0, dw, dh))
	for y := range h {
		draw.Draw(strip, strip.Bounds(), image.White, image.Point{}, draw.Src)
		draw.Draw(strip, strip.Bounds(), src, image.Pt(b.Min.X, b.Min.Y+y*n), draw.Over)
		rows := min(n, b.Dy()-y*n)
		for x := range w {
			to := turn.to(x, y, w, h)
			out.SetRGBA(to.X, to.Y, mean(strip, x*n, min(n, b.Dx()-x*n), rows))
		}
	}
	return out
}

// mean is the colour of a piece of the strip.
func mean(strip *image.RGBA, x, columns, rows int) color.RGBA {
	var r, g, b int
	for j := range rows {
		at := strip.PixOffset(x, j)
		for range columns {
			r, g, b, at = r+int(strip.Pix[at]), g+int(strip.Pix[at+1]), b+int(strip.Pix[at+2]), at+4
		}
	}
	n := rows * columns
	return color.RGBA{uint8((r + n/2) / n), uint8((g + n/2) / n), uint8((b + n/2) / n), 255}
}
