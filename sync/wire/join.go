package wire

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"

	"tacet/sync/replica"
)

// Enrol makes this device part of a company by a one-time code. The server's key comes with the answer and must be the
// one that its header names.
func (h *HTTP) Enrol(ctx context.Context, r EnrolRequest) (EnrolAnswer, error) {
	var a EnrolAnswer
	var err error
	if r.Proof, err = h.prove(ctx, r.Key, r.Signed); err != nil {
		return a, err
	}
	header, err := h.post(ctx, "/v1/enrol", r, &a)
	if err != nil {
		return a, err
	}
	if len(a.ServerKey) == 0 || KeyID(a.ServerKey) != header {
		return EnrolAnswer{}, fmt.Errorf("the server's key is not the one that it names: %w", replica.ErrUnreachable)
	}
	return a, nil
}

// SignIn exchanges login and password for tokens.
func (h *HTTP) SignIn(ctx context.Context, r SignInRequest) (t Tokens, err error) {
	if r.Proof, err = h.prove(ctx, r.Key, r.Signed); err != nil {
		return t, err
	}
	_, err = h.post(ctx, "/v1/sign-in", r, &t)
	return t, err
}

// Refresh exchanges a refresh token, which is good for one use, for new tokens.
func (h *HTTP) Refresh(ctx context.Context, r RefreshRequest) (t Tokens, err error) {
	if r.Proof, err = h.prove(ctx, r.Key, r.Signed); err != nil {
		return t, err
	}
	_, err = h.post(ctx, "/v1/refresh", r, &t)
	return t, err
}

func (h *HTTP) post(ctx context.Context, path string, in, out any) (keyID string, err error) {
	body, err := json.Marshal(in)
	if err != nil {
		return "", fmt.Errorf("write %s: %w", path, err)
	}
	res, err := h.do(ctx, request{method: http.MethodPost, path: path, body: body, media: MediaJSON, want: MediaJSON, open: true})
	if err != nil {
		return "", err
	}
	return res.Header.Get(HeaderServer), readJSON(res, out)
}
