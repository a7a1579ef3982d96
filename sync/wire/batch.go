package wire

import (
	"errors"
	"io"

	"tacet/sync/replica"
)

// WriteBatch writes the body of POST /v1/push, /v1/offer and /v1/aside.
func WriteBatch(w io.Writer, b replica.Batch) error {
	fw := newFrameWriter(w)
	for _, e := range b.Entries {
		f := entryFrame(e)
		if err := fw.put(Frame{Entry: &f}); err != nil {
			return err
		}
	}
	for i := range b.Seals {
		if err := fw.put(Frame{Seal: &b.Seals[i]}); err != nil {
			return err
		}
	}
	for i := range b.Devices {
		if err := fw.put(Frame{Device: &b.Devices[i]}); err != nil {
			return err
		}
	}
	return fw.end(End{})
}

// ReadBatch reads the body of POST /v1/push and refuses what is too much for one, before it is all read.
func ReadBatch(r io.Reader) (replica.Batch, error) {
	var b replica.Batch
	size := 0
	_, err := readFrames(r, func(f Frame) error {
		switch {
		case f.Entry != nil:
			size += len(f.Entry.E) + len(f.Entry.B)
			b.Entries = append(b.Entries, f.Entry.raw())
		case f.Seal != nil:
			b.Seals = append(b.Seals, *f.Seal)
		case f.Device != nil:
			b.Devices = append(b.Devices, *f.Device)
		}
		if len(b.Devices) > replica.MaxLanes {
			return replica.ErrTooLarge
		}
		if len(b.Entries) > replica.MaxBatch || len(b.Seals) > replica.MaxLanes || size > replica.MaxBatchBytes {
			return replica.ErrTooLarge
		}
		return nil
	})
	if errors.Is(err, errCut) {
		return replica.Batch{}, &replica.Refusal{Err: replica.ErrBadFrame, Says: "no trailer"}
	}
	if err != nil {
		return replica.Batch{}, err
	}
	return b, nil
}

// WriteAnswer writes the answer of POST /v1/push.
func WriteAnswer(w io.Writer, a replica.Answer) error {
	fw := newFrameWriter(w)
	for i := range a.Verdicts {
		if err := fw.put(Frame{Verdict: &a.Verdicts[i]}); err != nil {
			return err
		}
	}
	for i := range a.Receipts {
		if err := fw.put(Frame{Receipt: &a.Receipts[i]}); err != nil {
			return err
		}
	}
	return fw.end(End{Time: a.Time})
}

// ReadAnswer reads the answer of POST /v1/push.
func ReadAnswer(r io.Reader) (replica.Answer, error) {
	var a replica.Answer
	end, err := readFrames(r, func(f Frame) error {
		switch {
		case f.Verdict != nil:
			a.Verdicts = append(a.Verdicts, *f.Verdict)
		case f.Receipt != nil:
			a.Receipts = append(a.Receipts, *f.Receipt)
		}
		return nil
	})
	if err != nil {
		return replica.Answer{}, err
	}
	a.Time = end.Time
	return a, nil
}
