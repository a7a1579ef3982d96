package api

import (
	"bytes"
	"fmt"
	"image/jpeg"
	"strconv"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// putPhoto takes a photo that an entry of the job names: whole, or a piece of it, which the query tells ("at", "of").
func (s *Server) putPhoto(c *fiber.Ctx) error {
	w := who(c)
	h, err := photoHash(c)
	if err != nil {
		return err
	}
	v, err := s.viewer(c)
	if err != nil {
		return err
	}
	if err := s.replica.MayBring(c.UserContext(), w.Company, v, c.Params("job"), h); err != nil {
		return err
	}
	// Asked before a byte is read: what nobody's entry names is not taken, and what is here already need not come again.
	var known replica.Photo
	err = s.store.Read(c.UserContext(), w.Company, func(tx replica.Tx) (err error) {
		known, err = tx.Photo(c.Params("job"), h)
		return err
	})
	if err != nil {
		return err
	}
	if known.Here || known.Gone() { // what was erased is taken no more, and whoever has it need not send it
		return answer(c, replica.PhotoPart{Have: known.Size, Whole: true})
	}
	whole := c.Query("at") == "" && c.Query("of") == ""
	limit := replica.MaxPiece
	if whole {
		limit = photoBody
	}
	data, err := body(c, limit)
	if err != nil {
		return err
	}
	if d := c.Get(wire.HeaderDigest); d != "" && d != wire.ContentDigest(data) {
		return &replica.Refusal{Err: replica.ErrBadHash, Says: "the photo does not have the digest that its header says"}
	}
	if whole {
		if err := checkPicture(data); err != nil {
			return err
		}
		if err := s.replica.TakePhoto(c.UserContext(), w.Company, c.Params("job"), h, data); err != nil {
			return err
		}
		return answer(c, replica.PhotoPart{Have: int64(len(data)), Whole: true})
	}
	at, err := number(c, "at")
	if err != nil {
		return err
	}
	of, err := number(c, "of")
	if err != nil {
		return err
	}
	part, err := s.replica.TakePiece(c.UserContext(), w.Company, c.Params("job"), h, at, of, data, checkPicture)
	if err != nil {
		return err
	}
	return answer(c, part)
}

// number reads a whole number, 0 and up, from the query.
func number(c *fiber.Ctx, name string) (int64, error) {
	n, err := strconv.ParseInt(c.Query(name), 10, 64)
	if err != nil || n < 0 {
		return 0, &jobs.InputError{Field: name, Value: fmt.Sprintf("%.40q", c.Query(name)), Range: "a whole number, 0 and up"}
	}
	return n, nil
}

// getPhoto hands out a photo, or the piece that the Range header asks for, to a device of the company whose job it belongs to.
func (s *Server) getPhoto(c *fiber.Ctx) error {
	h, err := photoHash(c)
	if err != nil {
		return err
	}
	if err := s.seen(c); err != nil {
		return err
	}
	c.Set(fiber.HeaderContentType, wire.MediaPhoto)
	c.Set(fiber.HeaderCacheControl, "private, no-store")
	c.Set(fiber.HeaderAcceptRanges, "bytes")
	at, n := int64(0), replica.MaxPhoto
	ranged := false
	if r := c.Get(fiber.HeaderRange); r != "" {
		// One range from its first byte to its last is what our clients ask for; any other is answered with the whole, as HTTP lets us.
		var last int64
		if _, err := fmt.Sscanf(r, "bytes=%d-%d", &at, &last); err == nil && r == fmt.Sprintf("bytes=%d-%d", at, last) && last >= at && at >= 0 {
			ranged, n = true, int(min(last-at+1, replica.MaxPhoto))
		} else {
			at = 0
		}
	}
	data, size, err := s.replica.PhotoPiece(c.UserContext(), who(c).Company, c.Params("job"), h, at, n)
	if err != nil {
		return err
	}
	c.Set(wire.HeaderDigest, wire.ContentDigest(data))
	if ranged {
		c.Set(fiber.HeaderContentRange, fmt.Sprintf("bytes %d-%d/%d", at, at+int64(len(data))-1, size))
		c.Status(fiber.StatusPartialContent)
	}
	return c.Send(data)
}

// maxPixels is what a picture may unpack to. A small file can declare a picture that fills the memory of whoever opens it.
const maxPixels = 50_000_000

// checkPicture looks at the head of a photo only: every device sends JPEG, re-encoded by itself.
func checkPicture(data []byte) error {
	head, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return &jobs.InputError{Field: "photo", Value: "not a JPEG picture"}
	}
	if head.Width*head.Height > maxPixels {
		return &jobs.InputError{Field: "photo", Value: fmt.Sprintf("%d x %d", head.Width, head.Height), Range: "at most 50 million", Unit: "pixels"}
	}
	return nil
}

func photoHash(c *fiber.Ctx) (jobs.Hash, error) {
	h, err := jobs.ParseHash(c.Params("sha"))
	if err != nil || h.IsZero() {
		return h, jobs.ErrNotFound
	}
	return h, nil
}
