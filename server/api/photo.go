package api

import (
	"bytes"
	"fmt"
	"image/jpeg"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// putPhoto takes a whole photo that an entry of the job names.
func (s *Server) putPhoto(c *fiber.Ctx) error {
	w := who(c)
	h, err := photoHash(c)
	if err != nil {
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
	if known.Here {
		return c.SendStatus(fiber.StatusNoContent)
	}
	data, err := body(c, photoBody)
	if err != nil {
		return err
	}
	if d := c.Get(wire.HeaderDigest); d != "" && d != wire.ContentDigest(data) {
		return &replica.Refusal{Err: replica.ErrBadHash, Says: "the photo does not have the digest that its header says"}
	}
	if err := checkPicture(data); err != nil {
		return err
	}
	if err := s.replica.TakePhoto(c.UserContext(), w.Company, c.Params("job"), h, data); err != nil {
		return err
	}
	return c.SendStatus(fiber.StatusNoContent)
}

// getPhoto hands out a photo to a device of the company whose job it belongs to.
func (s *Server) getPhoto(c *fiber.Ctx) error {
	h, err := photoHash(c)
	if err != nil {
		return err
	}
	data, err := s.replica.Photo(c.UserContext(), who(c).Company, c.Params("job"), h)
	if err != nil {
		return err
	}
	c.Set(fiber.HeaderContentType, wire.MediaPhoto)
	c.Set(wire.HeaderDigest, wire.ContentDigest(data))
	c.Set(fiber.HeaderCacheControl, "private, no-store")
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
