package storetest

import (
	"context"

	"tacet/jobs"
	"tacet/sync/replica"
)

// FailingBlobs keeps photos and fails when it is told so.
type FailingBlobs struct {
	replica.Blobs
	Fail func(call string) error // nil fails nothing
}

var _ replica.Blobs = (*FailingBlobs)(nil)

func (b *FailingBlobs) ask(call string) error {
	if b.Fail == nil {
		return nil
	}
	return b.Fail(call)
}

// Put keeps a photo.
func (b *FailingBlobs) Put(ctx context.Context, co string, data []byte) (jobs.Hash, error) {
	if err := b.ask("Put"); err != nil {
		return jobs.Hash{}, err
	}
	return b.Blobs.Put(ctx, co, data)
}

// Get reads a photo.
func (b *FailingBlobs) Get(ctx context.Context, co string, h jobs.Hash) ([]byte, error) {
	if err := b.ask("Get"); err != nil {
		return nil, err
	}
	return b.Blobs.Get(ctx, co, h)
}

// Size tells how long a photo is.
func (b *FailingBlobs) Size(ctx context.Context, co string, h jobs.Hash) (int64, error) {
	if err := b.ask("Size"); err != nil {
		return 0, err
	}
	return b.Blobs.Size(ctx, co, h)
}

// Drop removes a photo.
func (b *FailingBlobs) Drop(ctx context.Context, co string, h jobs.Hash) error {
	if err := b.ask("Drop"); err != nil {
		return err
	}
	return b.Blobs.Drop(ctx, co, h)
}

// Part tells how much of a photo is here.
func (b *FailingBlobs) Part(ctx context.Context, co string, h jobs.Hash) (int64, error) {
	if err := b.ask("Part"); err != nil {
		return 0, err
	}
	return b.Blobs.Part(ctx, co, h)
}

// AddPart keeps a piece of a photo.
func (b *FailingBlobs) AddPart(ctx context.Context, co string, h jobs.Hash, at int64, piece []byte) error {
	if err := b.ask("AddPart"); err != nil {
		return err
	}
	return b.Blobs.AddPart(ctx, co, h, at, piece)
}

// JoinPart reads the pieces of a photo.
func (b *FailingBlobs) JoinPart(ctx context.Context, co string, h jobs.Hash) ([]byte, error) {
	if err := b.ask("JoinPart"); err != nil {
		return nil, err
	}
	return b.Blobs.JoinPart(ctx, co, h)
}

// DropPart forgets the pieces of a photo.
func (b *FailingBlobs) DropPart(ctx context.Context, co string, h jobs.Hash) error {
	if err := b.ask("DropPart"); err != nil {
		return err
	}
	return b.Blobs.DropPart(ctx, co, h)
}
