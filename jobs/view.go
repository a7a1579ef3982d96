package jobs

// JobView is a job as the command line prints it as JSON: what was recorded, and all that follows from it.
type JobView struct {
	ID         string          `json:"id"`
	Name       string          `json:"name"`
	Site       string          `json:"site"`
	Targets    []Target        `json:"targets"`
	Rooms      []RoomView      `json:"rooms"`
	Structures []StructureView `json:"structures"`
	Surfaces   []SurfaceView   `json:"surfaces"`
	Disputes   []DisputeView   `json:"disputes"`
	Warnings   []string        `json:"warnings"`
	// Assumptions lists what the survey did not see.
	Assumptions []string    `json:"assumptions"`
	Quotes      []QuoteView `json:"quotes"`
	Survey      SurveyView  `json:"survey"`
	LikeGroups  []LikeGroup `json:"like_groups"`
	Entries     int         `json:"entries"`
	Unread      int         `json:"recorded_by_newer_version"`
	WorkView
}

// RoomView is a room.
type RoomView struct {
	Code     string   `json:"code"`
	Name     string   `json:"name"`
	VolumeM3 *float64 `json:"volume_m3"`
}

// StructureView is a structure with the load that is added to it.
type StructureView struct {
	Code      string     `json:"code"`
	Name      string     `json:"name"`
	AddedLoad float64    `json:"added_load_kn_m2"`
	Limit     *float64   `json:"limit_kn_m2"`
	Predicted *Forecasts `json:"predicted"`
}

// SurfaceView is a surface with its layers and checks.
type SurfaceView struct {
	Code          string      `json:"code"`
	Kind          SurfaceKind `json:"kind"`
	Room          string      `json:"room"`
	Structure     string      `json:"structure"`
	AreaM2        float64     `json:"area_m2"`
	SheetCode     string      `json:"sheet_code"`
	SpecifiedMass float64     `json:"specified_mass_kg_m2"`
	InstalledMass float64     `json:"installed_mass_kg_m2"`
	AddedLoad     float64     `json:"added_load_kn_m2"`
	ThicknessMM   float64     `json:"thickness_mm"`
	Warnings      []string    `json:"warnings"`
	CoveredUnseen int         `json:"covered_unseen"`
	Layers        []LayerView `json:"layers"`
	Checks        []CheckView `json:"checks"`
	Predicted     Forecasts   `json:"predicted"`
	// Frozen is the prediction as it stood when the surface was quoted, to be shown beside the one of today.
	Frozen   *FrozenView    `json:"frozen"`
	BuildUp  string         `json:"build_up"`
	Like     *Likeness      `json:"like"`
	Flanking []FlankingItem `json:"flanking"`
	Cautions []CautionState `json:"cautions"`
	// Costs is what the open faults of the partition cost, and what putting them right is worth.
	Costs []DefectCostView `json:"costs"`
}

// LayerView is a layer. The screw window is in mm; stock 0 means that no stock length fits.
type LayerView struct {
	N             int         `json:"n"`
	Kind          string      `json:"kind"`
	Name          string      `json:"name"`
	State         LayerState  `json:"state"`
	SpecifiedMass float64     `json:"specified_mass_kg_m2"`
	InstalledMass float64     `json:"installed_mass_kg_m2"`
	ThicknessMM   float64     `json:"thickness_mm"`
	Share         float64     `json:"share"`
	CoveredShare  float64     `json:"covered_share"`
	CoveredUnseen bool        `json:"covered_unseen"`
	Screw         *ScrewView  `json:"screw"`
	Roles         []string    `json:"roles"`
	Detail        *DetailView `json:"detail"`
}

// ScrewView is a screw window.
type ScrewView struct {
	MinMM   float64  `json:"min_mm"`
	MaxMM   float64  `json:"max_mm"`
	StockMM *float64 `json:"stock_mm"`
}

// CheckView is a check; layer null is the surface as a whole.
type CheckView struct {
	Code     string     `json:"code"`
	Title    string     `json:"title"`
	Layer    *int       `json:"layer"`
	Stop     bool       `json:"stop"`
	State    CheckState `json:"state"`
	Evidence int        `json:"evidence"`
	Released bool       `json:"released"`
	Weak     bool       `json:"weak"` // a stop check that passed on somebody's word alone
}

// DisputeView is a dispute with what each side says.
type DisputeView struct {
	Surface string     `json:"surface"`
	Layer   int        `json:"layer"`
	Check   string     `json:"check"`
	About   string     `json:"about"`
	Heads   []HeadView `json:"heads"`
}

// HeadView is one side of a dispute.
type HeadView struct {
	ID       string `json:"id"`
	By       string `json:"by"`
	At       string `json:"at"`
	Says     string `json:"says"`
	Evidence int    `json:"evidence"`
}

// View works out the whole job, predictions included.
func (j *Job) View() JobView {
	v := JobView{ID: j.ID, Name: j.Name, Site: j.Site, Targets: append([]Target{}, j.Targets...), Rooms: []RoomView{},
		Structures: []StructureView{}, Surfaces: []SurfaceView{}, Disputes: j.DisputeViews(), Warnings: append(append([]string{}, j.Warnings...), j.Ahead()...), Entries: len(j.Records), Unread: j.Unread}
	v.WorkView = j.WorkView()
	v.Assumptions, v.Quotes, v.Survey, v.LikeGroups = []string{}, j.Quotes(), j.Survey(), j.LikeGroups()
	for _, f := range j.Assumptions() {
		v.Assumptions = append(v.Assumptions, f.Says())
	}
	for _, r := range j.Rooms {
		room := RoomView{Code: r.Code, Name: r.Name}
		if r.VolumeM3 > 0 {
			room.VolumeM3 = &r.VolumeM3
		}
		v.Rooms = append(v.Rooms, room)
	}
	for _, st := range j.Structures {
		v.Structures = append(v.Structures, StructureView{Code: st.Code, Name: st.Name, AddedLoad: j.StructureLoad(st), Limit: st.LoadLimit, Predicted: j.PredictStructure(st)})
	}
	for _, s := range j.Surfaces {
		v.Surfaces = append(v.Surfaces, j.surfaceView(s))
	}
	return v
}

func (j *Job) surfaceView(s *Surface) SurfaceView {
	v := SurfaceView{Code: s.Code, Kind: s.Kind, Room: s.Room, Structure: s.Structure, AreaM2: round(s.NetAreaM2()), SheetCode: SheetCode(j.ID, s.Code),
		SpecifiedMass: s.SpecifiedMass(), InstalledMass: s.InstalledMass(), AddedLoad: j.AddedLoad(s), ThicknessMM: s.ThicknessMM(),
		Warnings: append([]string{}, s.Warnings...), Layers: []LayerView{}, Checks: []CheckView{}, Predicted: j.PredictSurface(s),
		Frozen: j.FrozenFor(s), BuildUp: s.BuildUp(), Like: j.Likeness(s), Flanking: j.FlankingList(s), Cautions: j.Cautions(s), Costs: costViews(j.Costs(s))}
	for _, l := range s.Layers {
		if l.CoveredUnseen {
			v.CoveredUnseen++
		}
		v.Layers = append(v.Layers, LayerView{N: l.N, Kind: l.Specified.Kind(), Name: l.Name(), State: l.State, SpecifiedMass: l.SpecifiedMass(),
			InstalledMass: l.InstalledMass, ThicknessMM: l.thickness(), Share: l.Share, CoveredShare: l.Covered, CoveredUnseen: l.CoveredUnseen, Screw: s.screwView(l), Roles: s.Roles(j, l), Detail: s.detailView(j, l)})
	}
	for _, c := range s.Checks {
		cv := CheckView{Code: c.Rule.Code, Title: c.Rule.Title, Stop: c.Rule.Stop, State: c.State, Evidence: c.Evidence, Released: c.Released, Weak: s.isWeak(c)}
		if c.Layer > 0 {
			cv.Layer = &c.Layer
		}
		v.Checks = append(v.Checks, cv)
	}
	return v
}

func (s *Surface) screwView(l *Layer) *ScrewView {
	w, ok := s.ScrewWindow(l)
	if !ok {
		return nil
	}
	v := &ScrewView{MinMM: w.MinMM, MaxMM: w.MaxMM}
	if w.Fits() {
		v.StockMM = &w.StockMM
	}
	return v
}

// DisputeViews lists the disputes of the job.
func (j *Job) DisputeViews() []DisputeView {
	out := []DisputeView{}
	for _, d := range j.Disputes {
		v := DisputeView{Surface: d.On.Surface, Layer: d.On.Layer, Check: d.On.Check, About: d.About, Heads: []HeadView{}}
		for _, h := range d.Heads {
			v.Heads = append(v.Heads, HeadView{ID: h.ID, By: h.By, At: h.DoneAt().Format("2006-01-02T15:04:05Z07:00"), Says: j.Says(h), Evidence: j.Evidence(h)})
		}
		out = append(out, v)
	}
	return out
}
