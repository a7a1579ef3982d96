package ops_test

import (
	"archive/zip"
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tacet/server/ops"
)

// Whatever a file holds, nothing is written outside the folder.
func FuzzUnpack(f *testing.F) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range map[string]string{"../x": "out", "keys/../../x": "out", "manifest.json": `{"format":1,"files":{"../x":{"size":3,"sha256":""},"keys/../../x":{"size":3}}}`} {
		w, err := z.Create(name)
		if err != nil {
			f.Fatal(err)
		}
		if _, err := w.Write([]byte(text)); err != nil {
			f.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, data []byte) {
		top := t.TempDir()
		file, dir := filepath.Join(top, "backup.zip"), filepath.Join(top, "dir")
		if err := os.WriteFile(file, data, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Mkdir(dir, 0o700); err != nil {
			t.Fatal(err)
		}
		_, _ = ops.Unpack(t.Context(), file, dir) // most are refused; what counts is below
		err := filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
			if err == nil && !d.IsDir() && path != file && !strings.HasPrefix(path, dir+string(filepath.Separator)) {
				t.Errorf("%s was written", path)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	})
}
