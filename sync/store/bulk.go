package store

import (
	"strconv"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"tacet/migrations"
)

// bulk is the rows of one INSERT. What is the same in all of them, company, device or state, is given once: binding values is a good
// part of what a row costs, and the driver of SQLite looks for each among all of them.
type bulk struct {
	table   string
	columns []string
	values  []any  // row by row: string, int64, []byte or nil
	tail    string // behind the rows
}

// insert writes the rows in statements of a batch each.
func (t *tx) insert(b bulk) error {
	width := len(b.columns)
	for values := b.values; len(values) > 0; {
		part := b
		part.values = values[:min(batch*width, len(values))]
		values = values[len(part.values):]
		if err := t.db.Exec("?", part).Error; err != nil {
			return err
		}
	}
	return nil
}

// Build writes the statement. The values that are given once have the first numbers.
func (b bulk) Build(to clause.Builder) {
	mark := byte('?')
	if s, ok := to.(*gorm.Statement); ok && s.DB.Name() == migrations.Postgres {
		mark = '$'
	}
	once, each := b.split()
	put := func(text string) { _, _ = to.WriteString(text) } // into memory
	put("INSERT INTO ")
	to.WriteQuoted(b.table)
	for i, c := range append(once[:len(once):len(once)], each...) {
		put(separator(i, " (", ","))
		to.WriteQuoted(b.columns[c])
	}
	put(") VALUES ")
	for row := 0; row < len(b.values); row += len(b.columns) {
		put(separator(row, "(", ",("))
		for i, c := range once {
			put(separator(i, "", ","))
			if row == 0 {
				to.AddVar(to, b.values[c])
				continue
			}
			_ = to.WriteByte(mark)
			put(strconv.Itoa(i + 1))
		}
		for i, c := range each {
			put(separator(i+len(once), "", ","))
			to.AddVar(to, b.values[row+c])
		}
		put(")")
	}
	put(b.tail)
}

func separator(i int, first, between string) string {
	if i == 0 {
		return first
	}
	return between
}

// split tells the columns that hold the same in all rows from the others.
func (b bulk) split() (once, each []int) {
	for c := range b.columns {
		same := true
		for at := c; at < len(b.values) && same; at += len(b.columns) {
			if _, bytes := b.values[at].([]byte); bytes {
				same = false
			} else {
				same = b.values[at] == b.values[c]
			}
		}
		if same {
			once = append(once, c)
		} else {
			each = append(each, c)
		}
	}
	return once, each
}
