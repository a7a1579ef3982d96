package notice

import (
	"context"
	"encoding/json"

	"tacet/server/accounts"
)

// AskToConfirm writes to a new address, to hear whether it is the right one.
func (n *Notices) AskToConfirm(ctx context.Context, co, person string) error {
	_, err := n.put(ctx, co, person, accounts.ByMail, body{Confirm: true})
	return err
}

// Test calls the firm's address now, with nothing to tell, and returns how it went; it is listed like any other notice.
func (n *Notices) Test(ctx context.Context, co string) (accounts.Notice, error) {
	id, err := n.put(ctx, co, "", accounts.ByHook, body{Test: true})
	if err != nil {
		return accounts.Notice{}, err
	}
	return n.TryNow(ctx, co, id)
}

// TryNow tries a notice that waits, unless another server is at it, and returns how it stands then.
func (n *Notices) TryNow(ctx context.Context, co, id string) (accounts.Notice, error) {
	ways, err := n.accounts.NoticeWays(ctx, co)
	if err != nil {
		return accounts.Notice{}, err
	}
	note, err := n.accounts.Notice(ctx, co, id)
	if err != nil {
		return note, err
	}
	if mine, err := n.accounts.TakeNotice(ctx, &note); err != nil {
		return note, err
	} else if mine {
		if _, err := n.try(ctx, ways, note); err != nil {
			return note, err
		}
	}
	return n.accounts.Notice(ctx, co, id)
}

func (n *Notices) put(ctx context.Context, co, person string, way accounts.NoticeWay, b body) (string, error) {
	text, err := json.Marshal(b)
	if err != nil {
		return "", err
	}
	return n.accounts.PutNotice(ctx, co, person, way, string(text))
}
