package storetest

import (
	"tacet/jobs"
	"tacet/sync/replica"
)

// failingTx asks before each call. A call that is added to replica.Tx passes unasked until it stands here too.
type failingTx struct {
	replica.Tx
	s     *Failing
	write bool
	wrote *bool // nil where it only reads
}

func (t *failingTx) do(call string, f func() error) error {
	if err := t.s.ask(call, t.write); err != nil {
		return err
	}
	if t.wrote != nil && call != "Count" && call != "Sheet" {
		*t.wrote = true
	}
	return f()
}

func ask[T any](t *failingTx, call string, f func() (T, error)) (v T, err error) {
	if err = t.s.ask(call, t.write); err == nil {
		v, err = f()
	}
	return v, err
}

// Of is the same transaction in another company.
func (t *failingTx) Of(co string) (replica.Tx, error) {
	tx, err := t.Tx.Of(co)
	return &failingTx{Tx: tx, s: t.s, write: t.write, wrote: t.wrote}, err
}

func (t *failingTx) Seq() (replica.Seq, error) { return ask(t, "Seq", t.Tx.Seq) }

func (t *failingTx) SetSeq(s replica.Seq) error {
	return t.do("SetSeq", func() error { return t.Tx.SetSeq(s) })
}

func (t *failingTx) PutEpoch(e replica.Epoch) error {
	return t.do("PutEpoch", func() error { return t.Tx.PutEpoch(e) })
}

func (t *failingTx) Log(list []replica.Act) error {
	return t.do("Log", func() error { return t.Tx.Log(list) })
}

func (t *failingTx) Acts(after int64, limit, maxBytes int) ([]replica.Act, error) {
	return ask(t, "Acts", func() ([]replica.Act, error) { return t.Tx.Acts(after, limit, maxBytes) })
}

func (t *failingTx) HeadAt(n int64) (jobs.Hash, error) {
	return ask(t, "HeadAt", func() (jobs.Hash, error) { return t.Tx.HeadAt(n) })
}

func (t *failingTx) Device(dev string) (replica.Device, error) {
	return ask(t, "Device", func() (replica.Device, error) { return t.Tx.Device(dev) })
}

func (t *failingTx) Devices() ([]replica.Device, error) { return ask(t, "Devices", t.Tx.Devices) }

func (t *failingTx) PutDevice(d replica.Device) error {
	return t.do("PutDevice", func() error { return t.Tx.PutDevice(d) })
}

func (t *failingTx) Insert(list []replica.Stored) error {
	return t.do("Insert", func() error { return t.Tx.Insert(list) })
}

func (t *failingTx) Known(ids []string) (map[string]replica.Known, error) {
	return ask(t, "Known", func() (map[string]replica.Known, error) { return t.Tx.Known(ids) })
}

func (t *failingTx) Lane(dev, job string) (replica.LaneHead, error) {
	return ask(t, "Lane", func() (replica.LaneHead, error) { return t.Tx.Lane(dev, job) })
}

func (t *failingTx) LanesOf(dev string) ([]replica.LaneHead, error) {
	return ask(t, "LanesOf", func() ([]replica.LaneHead, error) { return t.Tx.LanesOf(dev) })
}

func (t *failingTx) At(dev, job string, seq int64) (replica.Known, error) {
	return ask(t, "At", func() (replica.Known, error) { return t.Tx.At(dev, job, seq) })
}

func (t *failingTx) Entries(job string, afterPos int64) ([]replica.Stored, error) {
	return ask(t, "Entries", func() ([]replica.Stored, error) { return t.Tx.Entries(job, afterPos) })
}

func (t *failingTx) Outbox(limit, maxBytes int) ([]replica.Stored, error) {
	return ask(t, "Outbox", func() ([]replica.Stored, error) { return t.Tx.Outbox(limit, maxBytes) })
}

func (t *failingTx) Entry(h jobs.Hash) (replica.Stored, error) {
	return ask(t, "Entry", func() (replica.Stored, error) { return t.Tx.Entry(h) })
}

func (t *failingTx) InState(s replica.State, notDev string, limit int) ([]replica.Stored, error) {
	return ask(t, "InState", func() ([]replica.Stored, error) { return t.Tx.InState(s, notDev, limit) })
}

func (t *failingTx) SetState(h jobs.Hash, to replica.State, n int64, says string) error {
	return t.do("SetState", func() error { return t.Tx.SetState(h, to, n, says) })
}

func (t *failingTx) SetBody(h jobs.Hash, body, key []byte) error {
	return t.do("SetBody", func() error { return t.Tx.SetBody(h, body, key) })
}

func (t *failingTx) DropKey(h jobs.Hash) error {
	return t.do("DropKey", func() error { return t.Tx.DropKey(h) })
}

func (t *failingTx) From(dev string, run int64) ([]replica.Stored, error) {
	return ask(t, "From", func() ([]replica.Stored, error) { return t.Tx.From(dev, run) })
}

func (t *failingTx) ToConfirm(after int64) error {
	return t.do("ToConfirm", func() error { return t.Tx.ToConfirm(after) })
}

func (t *failingTx) MarkSent(dev, job string, upto int64) (int, error) {
	return ask(t, "MarkSent", func() (int, error) { return t.Tx.MarkSent(dev, job, upto) })
}

func (t *failingTx) Count(s replica.State, dev string) (n int, oldest int64, err error) {
	err = t.do("Count", func() (err error) {
		n, oldest, err = t.Tx.Count(s, dev)
		return err
	})
	return n, oldest, err
}

func (t *failingTx) Mark(job string) (replica.Mark, error) {
	return ask(t, "Mark", func() (replica.Mark, error) { return t.Tx.Mark(job) })
}

func (t *failingTx) SetMark(m replica.Mark) error {
	return t.do("SetMark", func() error { return t.Tx.SetMark(m) })
}

func (t *failingTx) Marks(afterN int64) ([]replica.Mark, error) {
	return ask(t, "Marks", func() ([]replica.Mark, error) { return t.Tx.Marks(afterN) })
}

func (t *failingTx) PutSeals(list []replica.Seal) error {
	return t.do("PutSeals", func() error { return t.Tx.PutSeals(list) })
}

func (t *failingTx) Seals(after, upto int64) ([]replica.Seal, error) {
	return ask(t, "Seals", func() ([]replica.Seal, error) { return t.Tx.Seals(after, upto) })
}

func (t *failingTx) SealsOf(job string) ([]replica.Seal, error) {
	return ask(t, "SealsOf", func() ([]replica.Seal, error) { return t.Tx.SealsOf(job) })
}

func (t *failingTx) SealAt(dev, job string, seq int64) (replica.Seal, error) {
	return ask(t, "SealAt", func() (replica.Seal, error) { return t.Tx.SealAt(dev, job, seq) })
}

func (t *failingTx) LastSeal(dev, job string) (replica.Seal, error) {
	return ask(t, "LastSeal", func() (replica.Seal, error) { return t.Tx.LastSeal(dev, job) })
}

func (t *failingTx) PutAside(list []replica.Aside) error {
	return t.do("PutAside", func() error { return t.Tx.PutAside(list) })
}

func (t *failingTx) Asides(dev string) ([]replica.Aside, error) {
	return ask(t, "Asides", func() ([]replica.Aside, error) { return t.Tx.Asides(dev) })
}

func (t *failingTx) SetAside(h jobs.Hash, why replica.Why, state replica.AsideState, says string) error {
	return t.do("SetAside", func() error { return t.Tx.SetAside(h, why, state, says) })
}

func (t *failingTx) AsideBytes(dev string) (int64, error) {
	return ask(t, "AsideBytes", func() (int64, error) { return t.Tx.AsideBytes(dev) })
}

func (t *failingTx) Leave(as []replica.Aside) error {
	return t.do("Leave", func() error { return t.Tx.Leave(as) })
}

func (t *failingTx) Photo(job string, h jobs.Hash) (replica.Photo, error) {
	return ask(t, "Photo", func() (replica.Photo, error) { return t.Tx.Photo(job, h) })
}

func (t *failingTx) PutPhoto(p replica.Photo) error {
	return t.do("PutPhoto", func() error { return t.Tx.PutPhoto(p) })
}

func (t *failingTx) Photos(here, sent bool, limit int) ([]replica.Photo, error) {
	return ask(t, "Photos", func() ([]replica.Photo, error) { return t.Tx.Photos(here, sent, limit) })
}

func (t *failingTx) CountPhotos(here, sent bool) (int, error) {
	return ask(t, "CountPhotos", func() (int, error) { return t.Tx.CountPhotos(here, sent) })
}

func (t *failingTx) AllPhotos() ([]replica.Photo, error) { return ask(t, "AllPhotos", t.Tx.AllPhotos) }

func (t *failingTx) PhotoBytes() (int64, error) { return ask(t, "PhotoBytes", t.Tx.PhotoBytes) }

func (t *failingTx) Me() (replica.Me, error) { return ask(t, "Me", t.Tx.Me) }

func (t *failingTx) PutMe(m replica.Me) error {
	return t.do("PutMe", func() error { return t.Tx.PutMe(m) })
}

func (t *failingTx) People() ([]replica.Person, error) { return ask(t, "People", t.Tx.People) }

func (t *failingTx) PutPeople(list []replica.Person) error {
	return t.do("PutPeople", func() error { return t.Tx.PutPeople(list) })
}

func (t *failingTx) JobRows() ([]replica.JobRow, error) { return ask(t, "JobRows", t.Tx.JobRows) }

func (t *failingTx) Stale() ([]replica.Mark, error) { return ask(t, "Stale", t.Tx.Stale) }

func (t *failingTx) PutView(v replica.View) error {
	return t.do("PutView", func() error { return t.Tx.PutView(v) })
}

func (t *failingTx) Views() ([]replica.View, error) { return ask(t, "Views", t.Tx.Views) }

func (t *failingTx) DropViews() error {
	return t.do("DropViews", func() error { return t.Tx.DropViews() })
}

func (t *failingTx) Sheet(code string) (job, surface string, err error) {
	err = t.do("Sheet", func() (err error) {
		job, surface, err = t.Tx.Sheet(code)
		return err
	})
	return job, surface, err
}
