package store

import (
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

// JobRows lists the jobs by name, then id, with their counts. The company's own job is not one of them.
func (t *tx) JobRows() ([]replica.JobRow, error) {
	var counts []struct {
		Job, State string
		N          int
		Last       string
	}
	err := t.of().Table("entry").Select("job, state, COUNT(*) AS n, MAX(clk) AS last").Where("job <> co").Group("job, state").Scan(&counts).Error
	if err != nil {
		return nil, err
	}
	var views []viewRow
	if err := t.of().Find(&views).Error; err != nil {
		return nil, err
	}
	rows := make(map[string]*replica.JobRow, len(views))
	for _, c := range counts {
		r := rows[c.Job]
		if r == nil {
			r = &replica.JobRow{ID: c.Job}
			rows[c.Job] = r
		}
		r.Entries += c.N
		switch replica.State(c.State) {
		case replica.Unsent:
			r.Unsent += c.N
		case replica.Held:
			r.Held += c.N
		}
		var last jobs.Clock
		if err := last.UnmarshalText([]byte(c.Last)); err != nil {
			return nil, err
		}
		r.Last = max(r.Last, last)
	}
	for _, v := range views {
		if r := rows[v.Job]; r != nil {
			r.Name, r.Site = v.Name, v.Site
		}
	}
	list := make([]replica.JobRow, 0, len(rows))
	for _, id := range slices.Sorted(maps.Keys(rows)) {
		list = append(list, *rows[id])
	}
	slices.SortStableFunc(list, func(a, b replica.JobRow) int { return compareText(a.Name, b.Name) })
	return list, nil
}

func compareText(a, b string) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
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
