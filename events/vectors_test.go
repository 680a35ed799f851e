package events_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pairwalk/events"
	"pairwalk/events/seal"
)

var update = flag.Bool("update", false, "write the wire vectors of testdata/wire anew")

const wireDir = "../testdata/wire"

// vector is one kind as it is written: with everything it can say, with as
// little as it may, and in any other shape worth freezing.
type vector struct {
	full, minimal events.Payload
	more          []events.Payload
}

func (v vector) kind() events.Kind { return v.full.Kind() }

func (v vector) payloads() []events.Payload {
	return append([]events.Payload{v.full, v.minimal}, v.more...)
}

func vectors() []vector {
	return slices.Concat(recordVectors(), scheduleVectors(), fieldVectors())
}

// frozen writes a kind's vector file: a line for each body, then one whole
// sealed line, said by Ben with every field of the envelope.
func (v vector) frozen(t *testing.T) []byte {
	t.Helper()
	var file bytes.Buffer
	for _, p := range v.payloads() {
		b, err := events.EncodeBody(p)
		require.NoError(t, err)
		file.Write(append(b, '\n'))
	}
	sealed, err := seal.Seal(benKey, benSays(v.full))
	require.NoError(t, err)
	file.Write(append(sealed.Line(), '\n'))
	return file.Bytes()
}

// The bytes of version 1 never change: what was signed on a site must verify
// and read the same for as long as anybody keeps it.
func TestWireFormatIsFrozen(t *testing.T) {
	for _, v := range vectors() {
		t.Run(string(v.kind()), func(t *testing.T) {
			path := filepath.Join(wireDir, string(v.kind())+".json")
			if *update {
				require.NoError(t, os.MkdirAll(wireDir, 0o755))
				require.NoError(t, os.WriteFile(path, v.frozen(t), 0o644))
			}
			want, err := os.ReadFile(path)
			require.NoError(t, err, "a new kind needs its vector: run go test ./events -update")
			require.Equal(t, string(want), string(v.frozen(t)))
		})
	}
}

func TestFrozenBodiesReadBack(t *testing.T) {
	for _, v := range vectors() {
		t.Run(string(v.kind()), func(t *testing.T) {
			lines := readVector(t, v.kind())
			payloads := v.payloads()
			require.Len(t, lines, len(payloads)+1)
			for i, want := range payloads {
				got, err := events.DecodeBody(v.kind(), lines[i])
				require.NoError(t, err)
				require.Equal(t, want, got)
			}
		})
	}
}

func TestFrozenLinesOpenAndEncodeToTheSameBytes(t *testing.T) {
	for _, v := range vectors() {
		t.Run(string(v.kind()), func(t *testing.T) {
			lines := readVector(t, v.kind())
			opened, err := seal.Open(lines[len(lines)-1])
			require.NoError(t, err)
			e := opened.Event()
			require.True(t, e.Understood(), e.Payload)
			require.Equal(t, v.full, e.Payload)
			again, err := e.Encode()
			require.NoError(t, err)
			require.Equal(t, string(opened.Signed()), string(again))

			want := benSays(v.full)
			want.Hash = events.HashOf(again)
			require.Equal(t, *want, e)
		})
	}
}

// Whatever byte of a frozen body changes, the body is refused or says something
// else: no byte is there for nothing.
func TestEveryByteOfABodyCounts(t *testing.T) {
	for _, v := range vectors() {
		t.Run(string(v.kind()), func(t *testing.T) {
			for i, want := range v.payloads() {
				line := readVector(t, v.kind())[i]
				for at := range line {
					changed := bytes.Clone(line)
					changed[at] ^= 1
					got, err := events.DecodeBody(v.kind(), changed)
					if err == nil {
						require.NotEqual(t, want, got, "byte %d of %s", at, line)
					}
				}
			}
		})
	}
}

func TestEveryFrozenFileIsAKind(t *testing.T) {
	files, err := os.ReadDir(wireDir)
	require.NoError(t, err)
	var named []events.Kind
	for _, f := range files {
		named = append(named, events.Kind(f.Name()[:len(f.Name())-len(".json")]))
	}
	slices.Sort(named)
	require.Equal(t, events.Kinds(), named)
}

func readVector(t *testing.T, k events.Kind) [][]byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(wireDir, string(k)+".json"))
	require.NoError(t, err)
	return bytes.Split(bytes.TrimSuffix(b, []byte("\n")), []byte("\n"))
}
