package wire

import (
	"io"

	"tacet/sync/replica"
)

// WritePage writes the answer of GET /v1/pull.
func WritePage(w io.Writer, p replica.Page) error {
	fw := newFrameWriter(w)
	for _, a := range p.Acts {
		f := ActFrame{N: a.N, Act: a.Act, H: a.H, Job: a.Job, At: a.At, Says: a.Says, Before: a.Before, EntryFrame: entryFrame(a.Raw)}
		if err := fw.put(Frame{Act: &f}); err != nil {
			return err
		}
	}
	for i := range p.Devices {
		if err := fw.put(Frame{Device: &p.Devices[i]}); err != nil {
			return err
		}
	}
	for i := range p.Seals {
		if err := fw.put(Frame{Seal: &p.Seals[i]}); err != nil {
			return err
		}
	}
	for i := range p.Digests {
		if err := fw.put(Frame{Digest: &p.Digests[i]}); err != nil {
			return err
		}
	}
	if err := fw.put(Frame{Cursor: &p.Cursor}); err != nil {
		return err
	}
	return fw.end(End{More: p.More, Narrow: p.Narrow, Access: p.Access, Time: p.Time})
}

// ReadPage reads the answer of GET /v1/pull.
func ReadPage(r io.Reader) (replica.Page, error) {
	var p replica.Page
	end, err := readFrames(r, func(f Frame) error {
		switch {
		case f.Act != nil:
			a := f.Act
			p.Acts = append(p.Acts, replica.Act{N: a.N, Act: a.Act, H: a.H, Job: a.Job, At: a.At, Says: a.Says, Before: a.Before, Raw: a.raw()})
		case f.Device != nil:
			p.Devices = append(p.Devices, *f.Device)
		case f.Seal != nil:
			p.Seals = append(p.Seals, *f.Seal)
		case f.Digest != nil:
			p.Digests = append(p.Digests, *f.Digest)
		case f.Cursor != nil:
			p.Cursor = *f.Cursor
		}
		return nil
	})
	if err != nil {
		return replica.Page{}, err
	}
	p.More, p.Narrow, p.Access, p.Time = end.More, end.Narrow, end.Access, end.Time
	return p, nil
}
