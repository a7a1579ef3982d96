package jobs

// Trial is the job as it would be with one more record, which is composed by the rules as always and recorded nowhere: for
// whoever tries something out before they record it. j itself stays as it is.
func (j *Job) Trial(a Author, edge []byte) (*Job, error) {
	d, err := Compose(j, a, edge)
	if err != nil {
		return nil, err
	}
	next := j.last.Clk + 1
	e := Entry{Envelope: Envelope{V: 1, ID: trialID, Co: j.Company, Job: j.ID, Seq: 1, Clk: next, By: a.Person, Role: a.Role,
		Kind: d.Kind, KV: d.KV, On: d.On, Refs: d.Refs, Blobs: d.Blobs, Body: HashBlob(d.Body), Len: len(d.Body)}, Hash: HashEnvelope(d.Body), Data: d.Body, Key: d.Key}
	trial := j.Clone()
	trial.Add(e)
	return trial, nil
}

// trialID is the id of what is tried out; no entry that is recorded has it.
const trialID = "00000000-0000-7000-8000-000000000000"
