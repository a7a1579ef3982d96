package jobs

import (
	"bytes"
	"encoding/json"
)

// Export writes the settled state as canonical JSON: keys sorted, numbers as recorded, no prediction and nothing that
// depends on where or when it is read. Two replicas with the same entries print the same bytes.
func (j *Job) Export() ([]byte, error) {
	records := []any{}
	for _, r := range j.Records {
		m, err := r.plain()
		if err != nil {
			return nil, err
		}
		m["in_force"] = j.InForce(r)
		records = append(records, m)
	}
	surfaces := []any{}
	for _, s := range j.Surfaces {
		layers := []any{}
		for _, l := range s.Layers {
			layers = append(layers, map[string]any{"n": l.N, "state": string(l.State), "covered_unseen": l.CoveredUnseen})
		}
		checks := []any{}
		for _, c := range s.Checks {
			checks = append(checks, map[string]any{"code": c.Rule.Code, "layer": c.Layer, "state": string(c.State), "evidence": c.Evidence, "released": c.Released})
		}
		list := ""
		if s.List != nil {
			list = s.List.ID
		}
		surfaces = append(surfaces, map[string]any{"code": s.Code, "list": list, "layers": layers, "checks": checks})
	}
	disputes := []any{}
	for _, d := range j.Disputes {
		ids := []any{}
		for _, h := range d.Heads {
			ids = append(ids, h.ID)
		}
		disputes = append(disputes, map[string]any{"about": d.About, "heads": ids})
	}
	return encode(map[string]any{"id": j.ID, "name": j.Name, "records": records, "surfaces": surfaces, "disputes": disputes, "unread": j.Unread})
}

// plain gives a record as it was recorded.
func (r *Record) plain() (map[string]any, error) {
	m := map[string]any{"id": r.ID, "kind": r.Kind, "version": r.KV, "device": r.Dev, "author": r.By, "role": string(r.Role), "hash": r.Hash.String()}
	refs := []any{}
	for _, ref := range r.Refs {
		refs = append(refs, map[string]any{"as": string(ref.As), "hash": ref.H.String()})
	}
	m["refs"] = refs
	if r.Data == nil || r.Newer() {
		m["body_hash"] = r.Body.String()
		return m, nil
	}
	body, err := edgeTree(*r.Entry)
	if err != nil {
		return nil, err
	}
	m["body"] = body
	return m, nil
}

// encode writes maps with sorted keys, numbers as given, and no escapes that JSON does not ask for.
func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
