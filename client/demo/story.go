package demo

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"time"

	"tacet/acoustics"
	"tacet/client/home"
	"tacet/jobs"
	"tacet/testdata"
)

// step is one line of the story: somebody imports jobs, records, or devices exchange.
type step struct {
	Says    string   `json:"says"`
	On      string   `json:"on"` // tablet, phone, or who works on the server: office, supervisor
	Job     string   `json:"job"`
	Import  []string `json:"import"`
	Records []told   `json:"records"`
	Sync    []string `json:"sync"`
}

// told is one record, with a name by which later ones refer to it as @name.
type told struct {
	As     string          `json:"as"`
	Record json.RawMessage `json:"record"`
}

// play tells the story once.
func (f *Firm) play(ctx context.Context) error {
	data, err := testdata.Files.ReadFile("demo/story.json")
	if err != nil {
		return fmt.Errorf("read the story: %w", err)
	}
	var steps []step
	if err := acoustics.Decode(before(data, time.Now()), &steps); err != nil {
		return fmt.Errorf("read the story: %w", err)
	}
	ids := map[string]string{}
	for _, s := range steps {
		f.say(s.Says)
		if err := f.tell(ctx, s, ids); err != nil {
			return fmt.Errorf("%s: %w", s.Says, err)
		}
	}
	return nil
}

func (f *Firm) tell(ctx context.Context, s step, ids map[string]string) error {
	for _, name := range s.Import {
		if err := f.importJob(ctx, name); err != nil {
			return err
		}
	}
	for _, name := range s.Sync {
		if _, err := f.device(name).Sync(ctx); err != nil {
			return err
		}
	}
	if len(s.Records) == 0 {
		return nil
	}
	job := s.Job
	if job == "" {
		job = shownJob
	}
	batch, err := resolve(s.Records, ids)
	if err != nil {
		return err
	}
	entries, err := f.record(ctx, s.On, job, batch)
	if err != nil {
		return err
	}
	for i, e := range entries {
		if as := s.Records[i].As; as != "" {
			ids[as] = e.ID
		}
	}
	return nil
}

var mention = regexp.MustCompile(`"@([a-z0-9-]+)"`)

// resolve puts ids where records mention others by name.
func resolve(records []told, ids map[string]string) ([]json.RawMessage, error) {
	edges := make([]json.RawMessage, len(records))
	for i, r := range records {
		var unknown error
		edges[i] = mention.ReplaceAllFunc(r.Record, func(m []byte) []byte {
			id, ok := ids[string(m[2:len(m)-1])]
			if !ok {
				unknown = fmt.Errorf("the story mentions %s before it is told", m)
			}
			return []byte(`"` + id + `"`)
		})
		if unknown != nil {
			return nil, unknown
		}
	}
	return edges, nil
}

func (f *Firm) device(name string) *home.Home {
	if name == "phone" {
		return f.Phone
	}
	return f.Tablet
}

// record goes through the door that everybody uses: of a device, or of the server's pages.
func (f *Firm) record(ctx context.Context, on, job string, edges []json.RawMessage) ([]jobs.Entry, error) {
	switch on {
	case "supervisor":
		return f.Server.Replica.Record(ctx, f.notes.Company, f.author(supervisor), f.jobID(job), edges)
	case "office":
		return f.Server.Replica.Record(ctx, f.notes.Company, f.author(office), f.jobID(job), edges)
	}
	h := f.device(on)
	row, err := h.Find(ctx, job)
	if err != nil {
		return nil, err
	}
	pictures := filepath.Join(f.dir, "pictures")
	if err := drawPictures(pictures, edges); err != nil {
		return nil, err
	}
	data, err := json.Marshal(edges)
	if err != nil {
		return nil, fmt.Errorf("write records: %w", err)
	}
	done, err := h.Record(ctx, row.ID, home.Batch{JSON: data, Beside: pictures})
	for _, line := range done.Unseen {
		f.say(line)
	}
	return done.Entries, err
}

func (f *Firm) jobID(name string) string { return f.notes.Jobs[name] }

// importJob records a job on the server, as the office does.
func (f *Firm) importJob(ctx context.Context, name string) error {
	data, err := testdata.Files.ReadFile("demo/" + name)
	if err != nil {
		return fmt.Errorf("read job: %w", err)
	}
	edges, err := jobs.Import(data)
	if err != nil {
		return err
	}
	id, err := f.Server.Replica.NewID()
	if err != nil {
		return err
	}
	if _, err := f.Server.Replica.Record(ctx, f.notes.Company, f.author(office), id, edges); err != nil {
		return err
	}
	j, err := f.Server.Replica.Job(ctx, f.notes.Company, id)
	if err != nil {
		return err
	}
	f.notes.Jobs[j.Name] = id
	return nil
}

// drawPictures draws the photos that records name into a folder.
func drawPictures(dir string, edges []json.RawMessage) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("draw pictures: %w", err)
	}
	for _, e := range edges {
		var r struct {
			Surface string             `json:"surface"`
			Layer   int                `json:"layer"`
			Check   string             `json:"check"`
			Result  string             `json:"result"`
			Photos  []string           `json:"photos"`
			Measure map[string]float64 `json:"measured"`
		}
		if err := json.Unmarshal(e, &r); err != nil {
			return fmt.Errorf("draw pictures: %w", err)
		}
		for _, name := range r.Photos {
			p := picture{Title: fmt.Sprintf("%s layer %d %s", r.Surface, r.Layer, r.Check), Name: name, GapMM: r.Measure["gap_mm"], Open: r.Result == "fail"}
			if err := p.write(filepath.Join(dir, name)); err != nil {
				return err
			}
		}
	}
	return nil
}
