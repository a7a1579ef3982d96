package store

import (
	"cmp"
	"maps"
	"slices"

	"gorm.io/gorm/clause"

	"tacet/jobs"
	"tacet/sync/replica"
)

type viewRow struct {
	Co    string `gorm:"primaryKey"`
	Job   string `gorm:"primaryKey"`
	Total int64
	Rev   int64
	Name  string
	Site  string
}

func (viewRow) TableName() string { return "view_job" }

type sheetRow struct {
	Co      string `gorm:"primaryKey"`
	Code    string `gorm:"primaryKey"`
	Job     string
	Surface string
}

func (sheetRow) TableName() string { return "view_sheet" }

// jobRows asks for all jobs at once: the counts and the latest clock come from the index entry_last alone, so that no entry
// is read for them. It is one line, as every query is, so that a log of queries can be read line by line.
const jobRows = `SELECT digest.job, digest.total, digest.rev, view_job.name, view_job.site, ` +
	`(SELECT COUNT(*) FROM entry WHERE entry.co = digest.co AND entry.job = digest.job) AS n, ` +
	`(SELECT MAX(clk) FROM entry WHERE entry.co = digest.co AND entry.job = digest.job) AS last ` +
	`FROM digest LEFT JOIN view_job ON view_job.co = digest.co AND view_job.job = digest.job ` +
	`WHERE digest.co = ? AND digest.job <> digest.co`

// JobRows lists the jobs by name, then id, with their counts. The company's own job is not one of them.
func (t *tx) JobRows() ([]replica.JobRow, error) {
	var found []struct {
		Job        string
		Total, Rev int64
		Name, Site *string // nil: no view was made yet
		N          int
		Last       *string // nil: every entry left the record
	}
	if err := t.db.Raw(jobRows, t.co).Scan(&found).Error; err != nil {
		return nil, err
	}
	list := make([]replica.JobRow, 0, len(found))
	at := make(map[string]int, len(found))
	for _, f := range found {
		if f.Last == nil {
			continue
		}
		row := replica.JobRow{ID: f.Job, Total: f.Total, Rev: f.Rev, Entries: f.N}
		if f.Name != nil && f.Site != nil {
			row.Name, row.Site = *f.Name, *f.Site
		}
		if err := row.Last.UnmarshalText([]byte(*f.Last)); err != nil {
			return nil, err
		}
		list = append(list, row)
	}
	slices.SortFunc(list, func(a, b replica.JobRow) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	for i, row := range list {
		at[row.ID] = i
	}
	// Written out as in the index entry_open, which a database takes for no other words.
	var open []struct {
		Job, State string
		N          int
	}
	err := t.of().Table("entry").Select("job, state, COUNT(*) AS n").Where("state IN ('unsent', 'held')").Group("job, state").Scan(&open).Error
	for _, o := range open {
		i, ok := at[o.Job]
		switch {
		case !ok: // the company's own
		case replica.State(o.State) == replica.Unsent:
			list[i].Unsent = o.N
		default:
			list[i].Held = o.N
		}
	}
	return list, err
}

// Stale lists the jobs whose view is missing or was made at another mark.
func (t *tx) Stale() ([]replica.Mark, error) {
	var rows []markRow
	err := t.db.Table("digest").Select("digest.*").
		Joins("LEFT JOIN view_job ON view_job.co = digest.co AND view_job.job = digest.job").
		Where("digest.co = ? AND digest.job <> digest.co", t.co).
		Where("view_job.job IS NULL OR view_job.total <> digest.total OR view_job.rev <> digest.rev").Order("digest.job").Find(&rows).Error
	return marks(rows), err
}

// PutView replaces the view of a job.
func (t *tx) PutView(v replica.View) error {
	row := viewRow{Co: t.co, Job: v.Job, Total: v.Total, Rev: v.Rev, Name: v.Name, Site: v.Site}
	if err := t.db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error; err != nil {
		return err
	}
	if err := t.of().Where("job = ?", v.Job).Delete(&sheetRow{}).Error; err != nil {
		return err
	}
	sheets := make([]sheetRow, 0, len(v.Sheets))
	for _, code := range slices.Sorted(maps.Keys(v.Sheets)) {
		sheets = append(sheets, sheetRow{Co: t.co, Code: code, Job: v.Job, Surface: v.Sheets[code]})
	}
	if len(sheets) == 0 {
		return nil
	}
	return t.db.CreateInBatches(sheets, batch).Error
}

// Views reads all views, by job.
func (t *tx) Views() ([]replica.View, error) {
	var rows []viewRow
	if err := t.of().Order("job").Find(&rows).Error; err != nil {
		return nil, err
	}
	var sheets []sheetRow
	if err := t.of().Find(&sheets).Error; err != nil {
		return nil, err
	}
	of := map[string]map[string]string{}
	for _, s := range sheets {
		if of[s.Job] == nil {
			of[s.Job] = map[string]string{}
		}
		of[s.Job][s.Code] = s.Surface
	}
	vs := make([]replica.View, len(rows))
	for i, r := range rows {
		vs[i] = replica.View{Job: r.Job, Total: r.Total, Rev: r.Rev, Name: r.Name, Site: r.Site, Sheets: of[r.Job]}
	}
	return vs, nil
}

// DropViews empties the cache.
func (t *tx) DropViews() error {
	if err := t.of().Delete(&sheetRow{}).Error; err != nil {
		return err
	}
	return t.of().Delete(&viewRow{}).Error
}

// Sheet finds the surface of a readable code.
func (t *tx) Sheet(code string) (job, surface string, err error) {
	var rows []sheetRow
	if err := t.of().Where("code = ?", code).Limit(1).Find(&rows).Error; err != nil {
		return "", "", err
	}
	if len(rows) == 0 {
		return "", "", jobs.ErrNotFound
	}
	return rows[0].Job, rows[0].Surface, nil
}
