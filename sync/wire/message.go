package wire

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"

	"tacet/jobs"
	"tacet/sync/replica"
)

// Protocol is the version that this program speaks.
const Protocol = 1

// Media types and headers.
const (
	MediaFrames    = "application/vnd.tacet.frames+json" // a stream of frames
	MediaJSON      = "application/json"
	MediaProblem   = "application/problem+json"
	MediaPhoto     = "application/octet-stream"
	HeaderServer   = "Tacet-Server"   // the server key's id, on every answer of ours
	HeaderProtocol = "Tacet-Protocol" // the version, on every request
	HeaderDigest   = "Content-Digest" // RFC 9530, on photos both ways
)

// Hello is the answer of GET /v1/hello, which needs no sign-in.
type Hello struct {
	Protocols []int          `json:"protocols"`
	Kinds     map[string]int `json:"kinds,omitempty"` // newest version of each kind of entry
	Limits    Limits         `json:"limits"`
	Time      int64          `json:"time"` // server clock, ms
	ServerKey []byte         `json:"server_key"`
	KeyID     string         `json:"key_id"`
}

// Limits says how much the server takes at once.
type Limits struct {
	Entries    int `json:"entries"`
	Lanes      int `json:"lanes"`
	BatchBytes int `json:"batch_bytes"`
	Acts       int `json:"acts"`
	PageBytes  int `json:"page_bytes"`
	PhotoBytes int `json:"photo_bytes"`
}

// DefaultLimits are those of this version.
func DefaultLimits() Limits {
	return Limits{Entries: replica.MaxBatch, Lanes: replica.MaxLanes, BatchBytes: replica.MaxBatchBytes,
		Acts: replica.MaxActs, PageBytes: replica.MaxPage, PhotoBytes: replica.MaxPhoto}
}

// People is the answer of GET /v1/people.
type People struct {
	People []replica.Person `json:"people"`
}

// EnrolRequest is POST /v1/enrol: a one-time code, and the device that joins with the key it has made.
type EnrolRequest struct {
	Code      string `json:"code"`
	Device    string `json:"device"`     // UUID, chosen by the device
	PublicKey []byte `json:"public_key"` // Ed25519, 32 bytes
	Name      string `json:"name"`       // of the device, for the owner's list
	Proof     Proof  `json:"proof"`

	Key ed25519.PrivateKey `json:"-"` // the device's; HTTP.Enrol signs the proof with it
}

// EnrolAnswer makes the device part of the company.
type EnrolAnswer struct {
	Company     string    `json:"company"`
	CompanyName string    `json:"company_name"`
	Person      string    `json:"person"`
	PersonName  string    `json:"person_name"`
	Role        jobs.Role `json:"role"`
	Login       string    `json:"login"`
	ServerKey   []byte    `json:"server_key"` // Ed25519, 32 bytes; its id is pinned from here on
	Certificate string    `json:"certificate"`
	Tokens
}

// Tokens is a sign-in: the answer of POST /v1/sign-in and POST /v1/refresh, and part of an enrolment.
type Tokens struct {
	AccessToken  string `json:"access_token"`
	RefreshToken string `json:"refresh_token"` // good for one use
	ExpiresIn    int    `json:"expires_in"`    // of the access token, s
}

// SignInRequest is POST /v1/sign-in.
type SignInRequest struct {
	Login    string `json:"login"`
	Password string `json:"password"`
	Device   string `json:"device"`
	Proof    Proof  `json:"proof"`

	Key ed25519.PrivateKey `json:"-"` // the device's; HTTP.SignIn signs the proof with it
}

// RefreshRequest is POST /v1/refresh.
type RefreshRequest struct {
	RefreshToken string `json:"refresh_token"`
	Device       string `json:"device"`
	Proof        Proof  `json:"proof"`

	Key ed25519.PrivateKey `json:"-"` // the device's; HTTP.Refresh signs the proof with it
}

// KeyID is how the Tacet-Server header names a server's public key.
func KeyID(key []byte) string {
	sum := sha256.Sum256(key)
	return base64.RawURLEncoding.EncodeToString(sum[:12])
}
