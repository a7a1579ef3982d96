package home

import (
	"context"

	"tacet/sync/wire"
)

// News listens to one stream of the server's news until it ends, and hands over how far the company's record goes.
func (h *Home) News(ctx context.Context, heard func(end int64)) error {
	t, err := h.Transport()
	if err != nil {
		return err
	}
	token, err := h.accessAlone(ctx, t)
	if err != nil {
		return err
	}
	t, err = wire.NewHTTP(h.Me.Server, wire.KeyID(h.Me.ServerKey), func(context.Context) (string, error) { return token, nil })
	if err != nil {
		return err
	}
	return t.News(ctx, heard)
}

// accessAlone asks for a token while no exchange does: two who refresh one sign-in at once look like a theft.
func (h *Home) accessAlone(ctx context.Context, t *wire.HTTP) (string, error) {
	h.exchanging.Lock()
	defer h.exchanging.Unlock()
	return h.access(ctx, t)
}

// Position is how far this home has the company's record.
func (h *Home) Position(ctx context.Context) (int64, error) {
	me, err := h.Replica.Me(ctx, h.Me.Company)
	return me.Cursor.N, err
}
