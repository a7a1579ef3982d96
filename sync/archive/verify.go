package archive

import (
	"archive/zip"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"tacet/acoustics"
	"tacet/jobs"
	"tacet/sync/replica"
)

// Limits of what is read: an archive comes from anywhere.
const (
	maxFiles    = 400_000
	maxFile     = 256 << 20
	maxManifest = 256 << 20
)

// Report is what a check of an archive found right.
type Report struct {
	replica.Proof
	Job, Company, Name string
	Files              int
	Photos             int
	Missing            int  // photos that had not arrived when the archive was made
	ServerKey          bool // receipts were checked
}

// Verify checks an archive against itself: every file by its hash, every entry by its bytes, chain and body, every
// signature, and the zip around them by writing it again. The error names what is wrong first; of entries, the first broken one.
func Verify(r io.ReaderAt, size int64) (Report, error) {
	var rep Report
	z, err := zip.NewReader(r, size)
	if err != nil {
		return rep, &jobs.InputError{Field: "archive", Value: "not a zip file", Hint: "give a file that was written as the archive of a job"}
	}
	files, err := filesOf(z)
	if err != nil {
		return rep, err
	}
	m, err := manifestOf(files)
	if err != nil {
		return rep, err
	}
	rep.Job, rep.Company, rep.Name, rep.Missing = m.Job, m.Company, m.Name, len(m.MissingPhotos)
	// Entries come first: who looks for what was changed wants to know which entry, not which file.
	list, err := entriesOf(files, m)
	if err != nil {
		return rep, err
	}
	if err := rep.prove(files, m, list); err != nil {
		return rep, err
	}
	if err := rep.compare(files, m, list); err != nil {
		return rep, err
	}
	return rep, compareFrame(io.NewSectionReader(r, 0, size), files, m)
}

func filesOf(z *zip.Reader) (map[string]*zip.File, error) {
	if len(z.File) > maxFiles {
		return nil, &jobs.InputError{Field: "archive", Value: fmt.Sprintf("%d files", len(z.File)), Range: fmt.Sprintf("at most %d", maxFiles)}
	}
	files := make(map[string]*zip.File, len(z.File))
	for _, f := range z.File {
		if _, twice := files[f.Name]; twice {
			return nil, broken("the file %s is there twice", f.Name)
		}
		files[f.Name] = f
	}
	return files, nil
}

func manifestOf(files map[string]*zip.File) (manifest, error) {
	var m manifest
	f, ok := files["manifest.json"]
	if !ok {
		return m, &jobs.InputError{Field: "archive", Value: "without manifest.json", Hint: "give a file that was written as the archive of a job"}
	}
	data, err := read(f, maxManifest)
	if err != nil {
		return m, err
	}
	var head struct {
		Archive int `json:"tacet_archive"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return m, broken("manifest.json can't be read")
	}
	if head.Archive != format {
		return m, &jobs.InputError{Field: "archive", Value: fmt.Sprintf("format %d", head.Archive), Range: "1", Hint: "a newer version of this program wrote it; update this one"}
	}
	return m, decode("manifest.json", data, &m)
}

// decode reads what other programs read too, and people: a key that stands twice, or in other letters, would be another one for them.
func decode(name string, data []byte, v any) error {
	if err := acoustics.Decode(data, v); err != nil {
		return broken("%s can't be read: %v", name, err)
	}
	return nil
}

// read gives a file whole, up to limit bytes whatever it says of its size.
func read(f *zip.File, limit int64) ([]byte, error) {
	in, err := f.Open()
	if err != nil {
		return nil, broken("the file %s can't be opened", f.Name)
	}
	data, err := io.ReadAll(io.LimitReader(in, limit+1))
	if err := errors.Join(err, in.Close()); err != nil {
		return nil, broken("the file %s can't be read: it is damaged", f.Name)
	}
	if int64(len(data)) > limit {
		return nil, broken("the file %s is larger than it may be", f.Name)
	}
	return data, nil
}

// entriesOf reads the entries that the manifest lists.
func entriesOf(files map[string]*zip.File, m manifest) ([]replica.Stored, error) {
	list := make([]replica.Stored, 0, len(m.Entries))
	for _, l := range m.Entries {
		at := func(says string) error { return broken("entry %s (no. %d): %s", l.ID, l.N, says) }
		f, ok := files[l.Env]
		if !ok {
			return nil, at("its envelope is missing")
		}
		env, err := read(f, jobs.MaxEnvelope)
		if err != nil {
			return nil, at(err.Error())
		}
		var body []byte
		if l.Body != "" {
			f, ok := files[l.Body]
			if !ok {
				return nil, at("its body is missing")
			}
			if body, err = read(f, jobs.MaxBody); err != nil {
				return nil, at(err.Error())
			}
		}
		e, err := jobs.ParseEntry(env, body)
		if err != nil {
			return nil, at(err.Error())
		}
		if e.ID != l.ID || e.Hash.String() != l.Hash {
			return nil, at("its bytes have another hash than the manifest says")
		}
		list = append(list, replica.Stored{Entry: e, State: replica.State(l.State)})
	}
	if len(list) == 0 {
		return nil, broken("it holds no entry")
	}
	return list, nil
}

// prove checks chains, seals and receipts.
func (rep *Report) prove(files map[string]*zip.File, m manifest, list []replica.Stored) error {
	f, ok := files["seals.json"]
	if !ok {
		return broken("seals.json is missing")
	}
	data, err := read(f, maxManifest)
	if err != nil {
		return err
	}
	var seals sealFile
	if err := decode("seals.json", data, &seals); err != nil {
		return err
	}
	server, err := keyOf(seals.ServerKey)
	if err != nil {
		return broken("the server's key in seals.json is none")
	}
	rep.ServerKey = server != nil
	key := func(dev string) (ed25519.PublicKey, error) {
		k, err := keyOf(seals.Devices[dev])
		if err != nil || k == nil {
			return nil, broken("the key of device %s is missing from seals.json", dev)
		}
		return k, nil
	}
	rep.Proof, err = replica.ProveEntries(m.Company, m.Job, list, seals.Seals, key, server)
	return err
}

// keyOf reads a key; nil for an empty text.
func keyOf(text string) (ed25519.PublicKey, error) {
	if text == "" {
		return nil, nil
	}
	k, err := base64.StdEncoding.DecodeString(text)
	if err != nil || len(k) != ed25519.PublicKeySize {
		return nil, errors.New("not an Ed25519 key")
	}
	return k, nil
}

// compare checks every file against the manifest, and that every photo that an entry names is there or said to be missing.
func (rep *Report) compare(files map[string]*zip.File, m manifest, list []replica.Stored) error {
	listed := map[string]bool{"manifest.json": true}
	for _, l := range m.Files {
		f, ok := files[l.Name]
		if !ok {
			return broken("the file %s is missing", l.Name)
		}
		listed[l.Name] = true
		data, err := read(f, maxFile)
		if err != nil {
			return err
		}
		if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != l.SHA256 || int64(len(data)) != l.Bytes {
			return broken("the file %s was changed", l.Name)
		}
		rep.Files++
		if name, ok := strings.CutPrefix(l.Name, "photos/"); ok {
			h := jobs.HashBlob(data)
			if name != hex.EncodeToString(h[:])+".jpg" {
				return broken("the photo %s is another one than its name says", l.Name)
			}
			rep.Photos++
		}
	}
	for name := range files {
		if !listed[name] && !strings.HasSuffix(name, "/") {
			return broken("the file %s was added: the manifest does not list it", name)
		}
	}
	missing := map[string]bool{}
	for _, h := range m.MissingPhotos {
		missing[h] = true
	}
	for _, e := range list {
		for _, h := range e.ErasesPhotos() {
			missing[hex.EncodeToString(h[:])] = true // no loss: the record says that it was erased
		}
	}
	for _, e := range list {
		for _, h := range e.Blobs {
			if _, here := files[photoName(h)]; !here && !missing[hex.EncodeToString(h[:])] {
				return broken("entry %s names the photo %s, which is not there", e.ID, photoName(h))
			}
		}
	}
	return nil
}
