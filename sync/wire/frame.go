package wire

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Frame is one line of a stream; exactly one of its fields is set. A frame with none of the fields known here is one
// of a newer program and is skipped, though the trailer counts it.
type Frame struct {
	Entry   *EntryFrame        `json:"entry,omitempty"`
	Seal    *replica.Seal      `json:"seal,omitempty"`
	Verdict *replica.Verdict   `json:"verdict,omitempty"`
	Receipt *replica.Receipt   `json:"receipt,omitempty"`
	Act     *ActFrame          `json:"act,omitempty"`
	Device  *replica.DeviceKey `json:"device,omitempty"`
	Digest  *replica.Digest    `json:"digest,omitempty"`
	Cursor  *replica.Cursor    `json:"cursor,omitempty"`
	End     *End               `json:"end,omitempty"`
}

// EntryFrame is an entry: its bytes as strings, so that no program on the way writes them anew.
type EntryFrame struct {
	E Text   `json:"e"`           // envelope
	B Text   `json:"b,omitempty"` // body
	K []byte `json:"k,omitempty"` // key of what is sealed in the body
}

// Text is bytes that travel as a JSON string.
type Text []byte

// MarshalText gives the bytes.
func (t Text) MarshalText() ([]byte, error) { return t, nil }

// UnmarshalText copies the bytes.
func (t *Text) UnmarshalText(b []byte) error {
	*t = append(Text{}, b...)
	return nil
}

// ActFrame is an act of the log with the entry that it is about.
type ActFrame struct {
	N    int64     `json:"n"`
	Act  string    `json:"act"`
	H    jobs.Hash `json:"h"`
	Job  string    `json:"job"`
	At   int64     `json:"at"`
	Says string    `json:"says,omitempty"`
	// Head of the log before this act, where the acts before it are left out.
	Before *jobs.Hash `json:"before,omitempty"`
	EntryFrame
}

// End is the trailer.
type End struct {
	Frames int    `json:"frames"` // before it
	More   bool   `json:"more,omitempty"`
	Narrow bool   `json:"narrow,omitempty"` // acts on jobs that this device does not see are left out
	Access string `json:"access,omitempty"` // short for what is said about access: where it differs, GET /v1/access is asked
	Time   int64  `json:"time,omitempty"`   // server clock, ms
}

// maxLine is above the longest frame: an entry of 36 KiB in which every byte is escaped.
const maxLine = 256 << 10

type frameWriter struct {
	w   *bufio.Writer
	enc *json.Encoder
	n   int
}

func newFrameWriter(w io.Writer) *frameWriter {
	b := bufio.NewWriterSize(w, 32<<10)
	enc := json.NewEncoder(b)
	enc.SetEscapeHTML(false)
	return &frameWriter{w: b, enc: enc}
}

func (f *frameWriter) put(fr Frame) error {
	f.n++
	return f.enc.Encode(fr)
}

func (f *frameWriter) end(e End) error {
	e.Frames = f.n
	if err := f.enc.Encode(Frame{End: &e}); err != nil {
		return err
	}
	return f.w.Flush()
}

// errCut is a stream that ended before its trailer.
var errCut = errors.New("the stream ended before its trailer")

// readFrames hands every frame to take and returns the trailer. Anything wrong with the stream itself is a
// ErrBadFrame, except for its early end, which is errCut.
func readFrames(r io.Reader, take func(Frame) error) (End, error) {
	lines := bufio.NewScanner(r)
	lines.Buffer(make([]byte, 0, 64<<10), maxLine)
	n := 0
	for lines.Scan() {
		line := bytes.TrimSpace(lines.Bytes())
		if len(line) == 0 {
			continue
		}
		var f Frame
		if !utf8.Valid(line) {
			return End{}, badFrame(n+1, "not UTF-8")
		}
		if err := readFrame(line, &f); err != nil {
			return End{}, badFrame(n+1, "not a frame")
		}
		if f.End != nil {
			if f.End.Frames != n {
				return End{}, badFrame(n+1, fmt.Sprintf("the trailer counts %d frames, %d came", f.End.Frames, n))
			}
			if lines.Scan() && len(bytes.TrimSpace(lines.Bytes())) > 0 {
				return End{}, badFrame(n+1, "something stands behind the trailer")
			}
			return *f.End, nil
		}
		n++
		if err := take(f); err != nil {
			return End{}, err
		}
	}
	if err := lines.Err(); errors.Is(err, bufio.ErrTooLong) {
		return End{}, badFrame(n+1, "the line is too long")
	} else if err != nil {
		return End{}, fmt.Errorf("%w: %w", errCut, err)
	}
	return End{}, errCut
}

func badFrame(n int, says string) error {
	return &replica.Refusal{Err: replica.ErrBadFrame, Says: fmt.Sprintf("frame %d: %s", n, says)}
}

func entryFrame(r replica.Raw) EntryFrame { return EntryFrame{E: r.Env, B: r.Body, K: r.Key} }

func (f EntryFrame) raw() replica.Raw { return replica.Raw{Env: f.E, Body: f.B, Key: f.K} }
