package archive

import (
	"archive/zip"
	"bufio"
	"errors"
	"fmt"
	"io"
	"time"
)

// compareFrame checks all of a zip that is no content. A zip says most things twice, and has room for what nobody looks at: two readers
// may see two things in it. So it is written again around the same bytes, and has to come out the same.
func compareFrame(whole *io.SectionReader, files map[string]*zip.File, m manifest) error {
	made, err := time.Parse(time.RFC3339, m.MadeAt)
	if err != nil {
		return broken("manifest.json does not say when it was made")
	}
	same := &sameBytes{in: bufio.NewReader(whole)}
	z := zip.NewWriter(same)
	for _, l := range append(m.Files[:len(m.Files):len(m.Files)], fileLine{Name: "manifest.json"}) {
		if err = frame(z, files[l.Name], made); err != nil {
			break
		}
	}
	if err == nil {
		err = z.Close()
	}
	if err == nil && same.at < whole.Size() {
		err = errDiffers
	}
	if errors.Is(err, errDiffers) {
		return broken("its files are as they were written, the zip around them is not, from byte %d on: it was changed or damaged, or the files were packed anew", same.at)
	}
	if err != nil {
		return fmt.Errorf("check the zip: %w", err)
	}
	return nil
}

// frame writes a file again as [Write] did, its bytes as they are.
func frame(z *zip.Writer, f *zip.File, made time.Time) error {
	h := headerOf(f.Name, f.Method, made)
	if _, err := zip.NewWriter(io.Discard).CreateHeader(h); err != nil { // fills in the rest of what Write lets it say
		return err
	}
	h.CRC32, h.CompressedSize64, h.UncompressedSize64 = f.CRC32, f.CompressedSize64, f.UncompressedSize64
	to, err := z.CreateRaw(h)
	if err != nil {
		return err
	}
	from, err := f.OpenRaw()
	if err != nil {
		return err
	}
	_, err = io.Copy(to, from)
	return err
}

var errDiffers = errors.New("other bytes")

// sameBytes takes what it finds in its reader, and nothing else.
type sameBytes struct {
	in io.Reader
	at int64 // so many were the same
}

func (s *sameBytes) Write(p []byte) (int, error) {
	there := make([]byte, len(p))
	n, err := io.ReadFull(s.in, there)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return 0, err
	}
	for i := range n {
		if there[i] != p[i] {
			s.at += int64(i)
			return i, errDiffers
		}
	}
	s.at += int64(n)
	if n < len(p) {
		return n, errDiffers
	}
	return n, nil
}
