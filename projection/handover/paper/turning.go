package paper

import (
	"bytes"
	"encoding/binary"
	"image"
)

// turning is how a picture has to be turned to stand upright, as its camera noted.
type turning struct{ swaps, flipX, flipY bool }

var upright turning

// turnings are the values of the tag Orientation, 1 to 8 (Exif 2.32, 4.6.4.A).
var turnings = [9]turning{
	2: {flipX: true},
	3: {flipX: true, flipY: true},
	4: {flipY: true},
	5: {swaps: true},
	6: {swaps: true, flipX: true},
	7: {swaps: true, flipX: true, flipY: true},
	8: {swaps: true, flipY: true},
}

// to gives the place of a pixel, of a picture w by h, once it is turned.
func (t turning) to(x, y, w, h int) image.Point {
	if t.swaps {
		x, y, w, h = y, x, h, w
	}
	if t.flipX {
		x = w - 1 - x
	}
	if t.flipY {
		y = h - 1 - y
	}
	return image.Pt(x, y)
}

// orientation reads how the camera was held from a JPEG's first Exif segment.
// Anything unexpected means upright.
func orientation(jpeg []byte) turning {
	for at := 2; at+4 <= len(jpeg) && jpeg[at] == 0xFF; {
		size := int(binary.BigEndian.Uint16(jpeg[at+2:]))
		end := at + 2 + size
		if size < 2 || end > len(jpeg) || jpeg[at+1] == 0xDA {
			break
		}
		if tiff, ok := bytes.CutPrefix(jpeg[at+4:end], []byte("Exif\x00\x00")); ok && jpeg[at+1] == 0xE1 {
			return orientationTag(tiff)
		}
		at = end
	}
	return upright
}

// orientationTag reads the tag from the first directory of a TIFF (TIFF 6.0, 2).
func orientationTag(tiff []byte) turning {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(tiff, []byte("II*\x00")):
		order = binary.LittleEndian
	case bytes.HasPrefix(tiff, []byte("MM\x00*")):
		order = binary.BigEndian
	default:
		return upright
	}
	if len(tiff) < 8 {
		return upright
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return upright
	}
	entries := tiff[at+2:]
	for range order.Uint16(tiff[at:]) {
		if len(entries) < 12 {
			break
		}
		if value := order.Uint16(entries[8:]); order.Uint16(entries) == 0x0112 && int(value) < len(turnings) {
			return turnings[value]
		}
		entries = entries[12:]
	}
	return upright
}
