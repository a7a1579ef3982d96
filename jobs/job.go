package jobs

import (
	"strings"

	"tacet/acoustics"
)

// Job is one job as its entries make it. It is read by everybody and changed only by [Job.Add].
type Job struct {
	ID, Company string
	State

	all    []*Record // every entry that was taken: in fold order as far as folded, then as they came
	byHash map[Hash]*Record
	byID   map[string]*Record

	held    map[string]Entry   // by id: kept back by a rule, no part of the state
	again   map[Hash][]*Record // entries that were issued again, by the hash of what they were
	written map[Hash]*Entry    // entries as written, where their references are read as others
	repeat  map[Hash]Hash      // entries that only say again what another says, and which
}

// State is all that is derived from the entries.
type State struct {
	Name, Site string
	Targets    []Target
	Rooms      []*Room
	Structures []*Structure
	Surfaces   []*Surface
	Disputes   []Dispute
	Warnings   []string  // of the job as a whole; those of a surface stand with it
	Records    []*Record // all, in fold order
	Unread     int       // recorded by a newer version, or not readable here

	kinds     map[string][]*Record // by kind, in fold order
	namedBy   map[Hash][]*Record   // records that refer to a hash, in fold order
	awaited   map[Hash]bool        // lane predecessors that had not come when their successors were filed
	last      *Envelope            // the highest in clock order
	about     []*Record            // the job's own description
	elsewhere []*Record            // records on no surface: survey, complaint, sound test, notes …
}

// Target is what the finished work has to reach.
type Target struct {
	Quantity string  `json:"quantity"`
	ValueDB  float64 `json:"value_db"`
	Source   string  `json:"source,omitempty"`
	// What it is for, where it is not for the whole job: walls or floors, one room, one surface.
	Element string `json:"element,omitempty"`
	Room    string `json:"room,omitempty"`
	Surface string `json:"surface,omitempty"`
}

func (t Target) valid(path string) error {
	if err := choice(path+".quantity", t.Quantity, Quantities()...); err != nil {
		return err
	}
	if err := (acoustics.Range{Min: 1, Max: 120, Unit: "dB"}).Check(path+".value_db", t.ValueDB); err != nil {
		return err
	}
	for _, c := range []struct{ field, v string }{{".room", t.Room}, {".surface", t.Surface}} {
		if c.v == "" {
			continue
		}
		if err := code(path+c.field, c.v); err != nil {
			return err
		}
	}
	if t.Element != "" {
		if err := choice(path+".element", t.Element, ElementWall, ElementFloor); err != nil {
			return err
		}
	}
	return text(path+".source", t.Source, 0, 300)
}

// Impact tells whether the target is one for impact sound.
func (t Target) Impact() bool { return t.Quantity == LnTw }

// Room is where people hear what comes through.
type Room struct {
	Code     string
	Name     string
	VolumeM3 float64 // as recorded, else as measured; 0: not known
	Facts    RoomFacts
	records  []*Record
}

// Structure is what surfaces on both its sides hang on and load.
type Structure struct {
	Code      string
	Name      string
	Existing  []acoustics.Layer // from side 1 to side 2
	LoadLimit *float64          // kN/m²
	records   []*Record
}

// Room finds a room by code.
func (j *Job) Room(code string) *Room {
	for _, r := range j.Rooms {
		if r.Code == code {
			return r
		}
	}
	return nil
}

// Structure finds a structure by code.
func (j *Job) Structure(code string) *Structure {
	for _, s := range j.Structures {
		if s.Code == code {
			return s
		}
	}
	return nil
}

// Surface finds a surface by code, in any letter case.
func (j *Job) Surface(code string) *Surface {
	for _, s := range j.Surfaces {
		if strings.EqualFold(s.Code, code) {
			return s
		}
	}
	return nil
}

// On lists the surfaces of a structure, by code.
func (j *Job) On(st *Structure) []*Surface {
	var on []*Surface
	for _, s := range j.Surfaces {
		if s.Structure == st.Code {
			on = append(on, s)
		}
	}
	return on
}

// ByID finds a record by the id of its entry.
func (j *Job) ByID(id string) *Record { return j.byID[id] }

// ByHash finds a record by the hash of its entry.
func (j *Job) ByHash(h Hash) *Record { return j.byHash[h] }

// InForce tells whether nothing has superseded, withdrawn or overruled r.
func (j *Job) InForce(r *Record) bool { return !j.replaced(r, j.now()) }

// Of lists the records of a kind that are in force and can be read here, in fold order.
func (j *Job) Of(kind string) []*Record {
	var rs []*Record
	for _, r := range j.kinds[kind] {
		if j.InForce(r) {
			rs = append(rs, r)
		}
	}
	return rs
}

// Dispute is a subject on which records in force do not agree. It counts as not passed until one entry names them all.
type Dispute struct {
	On    On
	About string // what they disagree on, in plain words
	Heads []*Record
}
