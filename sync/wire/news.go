package wire

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"tacet/sync/replica"
)

// MediaNews is a stream of server-sent events, as browsers understand them.
const MediaNews = "text/event-stream"

// NewsEvent is the name of the one event in it. Its data is how far the company's record goes; a browser's code listens to it.
const NewsEvent = "at"

// WriteNewsStart begins a stream: how soon to come again when it ends, and the position as it is.
func WriteNewsStart(w io.Writer, again time.Duration, end int64) error {
	if _, err := fmt.Fprintf(w, "retry: %d\n", again.Milliseconds()); err != nil {
		return err
	}
	return WriteNews(w, end)
}

// WriteNews writes one position.
func WriteNews(w io.Writer, end int64) error {
	_, err := fmt.Fprintf(w, "event: %s\ndata: %d\n\n", NewsEvent, end)
	return err
}

// WriteNewsPause changes how soon to come again when the stream ends.
func WriteNewsPause(w io.Writer, again time.Duration) error {
	_, err := fmt.Fprintf(w, "retry: %d\n\n", again.Milliseconds())
	return err
}

// WriteNewsBeat writes a sign of life, which means nothing.
func WriteNewsBeat(w io.Writer) error {
	_, err := io.WriteString(w, ":\n\n")
	return err
}

// maxNewsLine is longer than any line of ours.
const maxNewsLine = 1 << 10

// ReadNews reads a stream until it ends, which is no error, and hands over each position. beat is called for every line, so
// that the reader can tell a quiet line from a dead one. Events and fields that it does not know are left out.
func ReadNews(r io.Reader, beat func(), heard func(end int64)) error {
	lines := bufio.NewScanner(r)
	lines.Buffer(make([]byte, 0, maxNewsLine), maxNewsLine)
	event, data := "", ""
	for lines.Scan() {
		beat()
		line := strings.TrimSuffix(lines.Text(), "\r")
		if line == "" {
			if end, err := strconv.ParseInt(data, 10, 64); err == nil && event == NewsEvent && end >= 0 {
				heard(end)
			}
			event, data = "", ""
			continue
		}
		name, value, _ := strings.Cut(line, ":")
		value = strings.TrimPrefix(value, " ")
		switch name {
		case "event":
			event = value
		case "data":
			data = value
		}
	}
	return lines.Err()
}

// newsSilence is how long a line may say nothing before it counts as dead: three signs of life.
const newsSilence = 45 * time.Second

// News listens to one stream of the server until it ends, which is no error, and hands over how far the company's record
// goes: at once, and each time that it goes further.
func (h *HTTP) News(ctx context.Context, heard func(end int64)) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	res, err := h.do(ctx, request{method: http.MethodGet, path: "/v1/live", want: MediaNews})
	if err != nil {
		return err
	}
	defer res.Body.Close()
	dead := time.AfterFunc(newsSilence, cancel)
	defer dead.Stop()
	if err := ReadNews(res.Body, func() { dead.Reset(newsSilence) }, heard); err != nil {
		return fmt.Errorf("%w: the news were cut: %w", replica.ErrUnreachable, plain(err))
	}
	return nil
}
