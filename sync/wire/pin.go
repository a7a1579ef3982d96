package wire

// PinRequest is PUT /v1/pin: the person who signed in on a shared device sets a PIN there.
type PinRequest struct {
	Pin string `json:"pin"`
}

// PinSignInRequest is POST /v1/sign-in-pin: somebody who has a PIN on this device takes it over. The proof is that of a sign-in.
type PinSignInRequest struct {
	Login  string `json:"login"`
	Pin    string `json:"pin"`
	Device string `json:"device"`
	Proof  Proof  `json:"proof"`
}

// Signed is the message under which the device signs.
func (q PinSignInRequest) Signed(at int64) ([]byte, error) {
	return SignInRequest{Login: q.Login, Device: q.Device}.Signed(at)
}
