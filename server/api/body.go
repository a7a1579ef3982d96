package api

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/gofiber/fiber/v2"

	"tacet/sync/replica"
)

// How much of a body is read. Frames carry entries as JSON strings, which makes a batch longer than the bytes in it.
const (
	smallBody = 64 << 10
	batchBody = 4 * replica.MaxBatchBytes
	photoBody = replica.MaxPhoto
	formBody  = replica.MaxPhoto + 1<<20 // a form with a photo

	// drainLimit is how much of a body nobody wants is read and thrown away. A sender only sees an answer once it has sent everything;
	// a connection cut before looks like a broken network, and it would try the same again.
	drainLimit = 64 << 20
)

// drain reads what a handler left of the body; without it the rest would be taken for the next request on the connection.
func drain(c *fiber.Ctx) error {
	err := c.Next()
	body := c.Context().RequestBodyStream()
	if body == nil {
		return err
	}
	n, copyErr := io.Copy(io.Discard, io.LimitReader(body, drainLimit))
	if n == drainLimit || copyErr != nil {
		c.Context().SetConnectionClose()
	}
	return err
}

// body returns the request's body, or ErrTooLarge when it is longer than limit. The bytes are a copy that nobody else writes to.
func body(c *fiber.Ctx, limit int) ([]byte, error) {
	if e := c.Get(fiber.HeaderContentEncoding); e != "" && e != "identity" {
		return nil, fiber.ErrUnsupportedMediaType // a few bytes could unpack to gigabytes
	}
	if c.Request().Header.ContentLength() > limit {
		return nil, tooLarge(limit)
	}
	stream := c.Context().RequestBodyStream()
	if stream == nil {
		b := c.Request().Body()
		if len(b) > limit {
			return nil, tooLarge(limit)
		}
		return bytes.Clone(b), nil
	}
	b, err := io.ReadAll(io.LimitReader(stream, int64(limit)+1))
	if len(b) > limit {
		return nil, tooLarge(limit)
	}
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, &replica.Refusal{Err: replica.ErrBadFrame, Says: "the body was cut"}
	}
	if n := c.Request().Header.ContentLength(); n >= 0 && len(b) != n {
		return nil, &replica.Refusal{Err: replica.ErrBadFrame, Says: "the body was cut"}
	}
	return b, nil
}

func tooLarge(limit int) error {
	return &replica.Refusal{Err: replica.ErrTooLarge, Says: fmt.Sprintf("at most %d KiB", limit>>10)}
}

// wholeForm reads a posted form into memory, so that handlers find its fields as usual.
func wholeForm(c *fiber.Ctx) error {
	if c.Method() == fiber.MethodGet || c.Method() == fiber.MethodHead {
		return c.Next()
	}
	b, err := body(c, formBody)
	if err != nil {
		return err
	}
	c.Request().SetBodyRaw(b)
	return c.Next()
}
