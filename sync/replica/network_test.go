package replica_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"tacet/jobs"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// network carries what is said as the bytes that go over the wire, and loses it when told to.
type network struct {
	d           *device
	persons     map[string]jobs.Role // enrolled on the device; itself alone if nil
	loseAsk     int                  // the next n requests do not arrive
	loseAnswer  int                  // the next n answers do not come back
	loseOffers  bool                 // the server takes none of what is offered
	cut         func(answer []byte) []byte
	pushes      int
	sent        int                      // entries in all pushes
	loseHistory int                      // each n-th page of history does not come
	histories   int                      // pages of history asked for
	historyActs int                      // and the acts in them
	acts        int                      // in all pages of the log
	photoBytes  int                      // of all pieces, both ways
	beforePiece func(piece []byte) error // of a photo that is sent
	afterPiece  func(piece []byte) error
}

var _ replica.Transport = (*network)(nil)

func (n *network) lost(count *int) error {
	if *count > 0 {
		*count--
		return fmt.Errorf("cut: %w", replica.ErrUnreachable)
	}
	return nil
}

func (n *network) pusher() replica.Pusher {
	persons := n.persons
	if persons == nil {
		persons = map[string]jobs.Role{n.d.me.Person: n.d.me.Role}
	}
	return replica.Pusher{Device: n.d.id, Key: pub(n.d.key), Persons: persons, Person: n.d.me.Person, Role: n.d.me.Role}
}

// over is how a refusal looks on the other side.
func over(err error) error {
	if err == nil {
		return nil
	}
	p, known := wire.ProblemOf(err)
	if !known {
		return err
	}
	return p.Err()
}

func (n *network) Lanes(ctx context.Context) (replica.Lanes, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Lanes{}, err
	}
	l, err := n.d.server.LanesOf(ctx, n.d.me.Company, n.d.id)
	if err != nil {
		return l, over(err)
	}
	var back replica.Lanes
	return back, again(l, &back)
}

func again(in, out any) error {
	b, err := json.Marshal(in)
	if err != nil {
		return err
	}
	return json.Unmarshal(b, out)
}

func (n *network) Push(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	n.pushes++
	n.sent += len(b.Entries)
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Answer{}, err
	}
	var ask, back bytes.Buffer
	if err := wire.WriteBatch(&ask, b); err != nil {
		return replica.Answer{}, err
	}
	got, err := wire.ReadBatch(&ask)
	if err != nil {
		return replica.Answer{}, over(err)
	}
	a, err := n.d.server.Receive(ctx, n.d.me.Company, n.pusher(), got)
	if lost := n.lost(&n.loseAnswer); lost != nil {
		return replica.Answer{}, lost
	}
	if err != nil {
		return replica.Answer{}, over(err)
	}
	if err := wire.WriteAnswer(&back, a); err != nil {
		return replica.Answer{}, err
	}
	return wire.ReadAnswer(&back)
}

func (n *network) Offer(ctx context.Context, b replica.Batch) (replica.Answer, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Answer{}, err
	}
	got, err := carried(b)
	if err != nil {
		return replica.Answer{}, err
	}
	if n.loseOffers {
		return replica.Answer{}, nil
	}
	a, err := n.d.server.TakeOffer(ctx, n.d.me.Company, n.d.id, got)
	return a, over(err)
}

func (n *network) Aside(ctx context.Context, b replica.Batch) (int, error) {
	got, err := carried(b)
	if err != nil {
		return 0, err
	}
	a, err := n.d.server.FileAside(ctx, got)
	return len(a.Verdicts), over(err)
}

// carried is a batch as it arrives.
func carried(b replica.Batch) (replica.Batch, error) {
	var ask bytes.Buffer
	if err := wire.WriteBatch(&ask, b); err != nil {
		return b, err
	}
	return wire.ReadBatch(&ask)
}

func (n *network) Pull(ctx context.Context, c replica.Cursor, maxBytes int) (replica.Page, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Page{}, err
	}
	c, err := wire.ParseCursor(wire.FormatCursor(c))
	if err != nil {
		return replica.Page{}, err
	}
	p, err := n.d.server.PullFor(ctx, n.d.me.Company, n.viewer(), c, maxBytes)
	if lost := n.lost(&n.loseAnswer); lost != nil {
		return replica.Page{}, lost
	}
	if err != nil {
		return replica.Page{}, over(err)
	}
	var back bytes.Buffer
	if err := wire.WritePage(&back, p); err != nil {
		return replica.Page{}, err
	}
	answer := back.Bytes()
	if n.cut != nil {
		answer = n.cut(answer)
	}
	p, err = wire.ReadPage(bytes.NewReader(answer))
	if err != nil {
		return p, errors.Join(replica.ErrUnreachable, err)
	}
	n.acts += len(p.Acts)
	return p, nil
}

func (n *network) People(context.Context) ([]replica.Person, error) {
	return []replica.Person{{ID: n.d.me.Person, Name: "Sam Example", Role: n.d.me.Role}}, n.lost(&n.loseAsk)
}

func (n *network) viewer() replica.Viewer {
	return replica.Viewer{Device: n.d.id, Persons: n.pusher().Persons}
}

func (n *network) Access(ctx context.Context) (replica.AccessAnswer, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.AccessAnswer{}, err
	}
	a, err := n.d.server.AccessFor(ctx, n.d.me.Company, n.viewer())
	if err != nil {
		return a, over(err)
	}
	var back replica.AccessAnswer
	return back, again(a, &back)
}

func (n *network) BringAccess(ctx context.Context, said []replica.Access) error {
	if err := n.lost(&n.loseAsk); err != nil {
		return err
	}
	_, err := n.d.server.Heed(ctx, n.d.me.Company, said)
	return over(err)
}

func (n *network) History(ctx context.Context, job string, after, upto int64, maxBytes int) (replica.Page, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.Page{}, err
	}
	n.histories++
	p, err := n.d.server.HistoryFor(ctx, n.d.me.Company, n.viewer(), job, after, upto, maxBytes)
	if err != nil {
		return p, over(err)
	}
	n.historyActs += len(p.Acts)
	if n.loseHistory > 0 && n.histories%n.loseHistory == 0 {
		return replica.Page{}, fmt.Errorf("cut: %w", replica.ErrUnreachable)
	}
	if lost := n.lost(&n.loseAnswer); lost != nil {
		return replica.Page{}, lost
	}
	var back bytes.Buffer
	if err := wire.WritePage(&back, p); err != nil {
		return p, err
	}
	return wire.ReadPage(&back)
}

func (n *network) SendPhoto(ctx context.Context, job string, h jobs.Hash, at, size int64, piece []byte) (replica.PhotoPart, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return replica.PhotoPart{}, err
	}
	if n.beforePiece != nil {
		if err := n.beforePiece(piece); err != nil {
			return replica.PhotoPart{}, err
		}
	}
	n.photoBytes += len(piece)
	p, err := n.d.server.TakePiece(ctx, n.d.me.Company, job, h, at, size, piece, nil)
	if n.afterPiece != nil {
		if err := n.afterPiece(piece); err != nil {
			return replica.PhotoPart{}, err
		}
	}
	return p, over(err)
}

func (n *network) FetchPhoto(ctx context.Context, job string, h jobs.Hash, at int64, length int) ([]byte, int64, error) {
	if err := n.lost(&n.loseAsk); err != nil {
		return nil, 0, err
	}
	piece, size, err := n.d.server.PhotoPiece(ctx, n.d.me.Company, job, h, at, length)
	n.photoBytes += len(piece)
	if n.afterPiece != nil {
		if err := n.afterPiece(piece); err != nil {
			return nil, 0, err
		}
	}
	return piece, size, over(err)
}
