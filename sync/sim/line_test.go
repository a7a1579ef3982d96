package sim

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// line is what goes wrong on the wire during the next exchange: the n-th call counts down to 0.
type line struct {
	server             int
	ask, answer, twice int // -1: never
	cut                int // bytes kept of the next page; -1: all
	strange            bool
	expire             int // the sign-in runs out before the n-th call
	expired            bool
	at                 *replica.Replica // who answers, where it is neither of the servers
}

func straight(server int) line {
	return line{server: server, ask: -1, answer: -1, twice: -1, cut: -1, expire: -1}
}

// lost counts a fault down; true: now.
func lost(n *int) bool {
	if *n < 0 {
		return false
	}
	*n--
	return *n == -1
}

func unreachable() error { return fmt.Errorf("cut: %w", replica.ErrUnreachable) }

// over is how a refusal looks on the other side.
func over(err error) error {
	if err == nil {
		return nil
	}
	if p, known := wire.ProblemOf(err); known {
		return p.Err()
	}
	return err
}

func (d *device) server() *replica.Replica {
	if d.line.at != nil {
		return d.line.at
	}
	return d.w.servers[d.line.server]
}

// ask is what becomes of a call on its way there.
func (d *device) ask() error {
	if lost(&d.line.expire) {
		d.line.expired = true
		d.w.met["a sign-in ran out"]++
	}
	if d.line.expired {
		return fmt.Errorf("call: %w", replica.ErrSignIn)
	}
	if lost(&d.line.ask) {
		return unreachable()
	}
	return nil
}

func (d *device) Lanes(ctx context.Context) (replica.Lanes, error) {
	if err := d.ask(); err != nil {
		return replica.Lanes{}, err
	}
	l, err := d.server().LanesOf(ctx, company, d.id)
	return l, over(err)
}

func carried(b replica.Batch) (replica.Batch, error) {
	var ask bytes.Buffer
	if err := wire.WriteBatch(&ask, b); err != nil {
		return b, err
	}
	return wire.ReadBatch(&ask)
}

// give carries a batch there and the answer back.
func (d *device) give(b replica.Batch, take func(replica.Batch) (replica.Answer, error)) (replica.Answer, error) {
	if err := d.ask(); err != nil {
		return replica.Answer{}, err
	}
	got, err := carried(b)
	must(err, "carry a batch")
	a, err := take(got)
	if lost(&d.line.twice) {
		d.w.met["doubled"]++
		a, err = take(got)
	}
	if lost(&d.line.answer) {
		d.w.met["answer lost"]++
		return replica.Answer{}, unreachable()
	}
	return a, over(err)
}

func (d *device) Push(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	a, err := d.give(b, func(b replica.Batch) (replica.Answer, error) {
		who := replica.Pusher{Device: d.id, Key: pub(d.key), Persons: map[string]jobs.Role{d.person: d.role}, Person: d.person, Role: d.role}
		if d.line.strange {
			who.Persons = map[string]jobs.Role{}
		}
		return d.server().Receive(ctx, company, who, b)
	})
	return d.w.plantReceipts(b, a, err)
}

func (d *device) Offer(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	if d.w.plant == "nothing is offered" {
		return replica.Answer{}, nil
	}
	d.w.met["offered"]++
	return d.give(b, func(b replica.Batch) (replica.Answer, error) { return d.server().TakeOffer(ctx, company, d.id, b) })
}

func (d *device) Aside(ctx context.Context, b replica.Batch) (int, error) {
	a, err := d.give(b, func(b replica.Batch) (replica.Answer, error) { return d.server().FileAside(ctx, b) })
	return len(a.Verdicts), err
}

func (d *device) Pull(ctx context.Context, c replica.Cursor, maxBytes int) (replica.Page, error) {
	d.judgeSent()
	if err := d.ask(); err != nil {
		return replica.Page{}, err
	}
	p, err := d.server().PullFor(ctx, company, d.viewer(), d.w.plantCursor(c), min(maxBytes, 4<<10))
	if lost(&d.line.answer) {
		return replica.Page{}, unreachable()
	}
	if err != nil {
		return replica.Page{}, over(err)
	}
	d.judgeKept(p)
	d.w.plantPage(&p)
	var back bytes.Buffer
	must(wire.WritePage(&back, p), "write a page")
	answer := back.Bytes()
	if d.line.cut >= 0 && d.line.cut < len(answer) {
		answer, d.line.cut = answer[:d.line.cut], -1
		d.w.met["cut"]++
	}
	p, err = wire.ReadPage(bytes.NewReader(answer))
	if err != nil {
		return p, errors.Join(replica.ErrUnreachable, err)
	}
	return p, nil
}

func (d *device) People(context.Context) ([]replica.Person, error) {
	if err := d.ask(); err != nil {
		return nil, err
	}
	return []replica.Person{{ID: d.person, Name: "Sam Example", Role: d.role}}, nil
}

func (d *device) SendPhoto(ctx context.Context, job string, h jobs.Hash, at, size int64, piece []byte) (replica.PhotoPart, error) {
	if err := d.ask(); err != nil {
		return replica.PhotoPart{}, err
	}
	p, err := d.server().TakePiece(ctx, company, job, h, at, size, piece, nil)
	return p, over(err)
}

func (d *device) FetchPhoto(ctx context.Context, job string, h jobs.Hash, at int64, n int) ([]byte, int64, error) {
	if err := d.ask(); err != nil {
		return nil, 0, err
	}
	piece, size, err := d.server().PhotoPiece(ctx, company, job, h, at, n)
	return piece, size, over(err)
}
