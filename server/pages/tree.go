package pages

import (
	"bytes"
	"encoding/json"
	"strconv"
	"strings"
)

// A form edits an object of the record by paths, as its fields are named: openings[0].width_m. What a form does not show
// stays as it was, so that nothing is lost that was recorded elsewhere in more detail.

// treeOf is a value as the object that it has in a record; numbers keep their digits.
func treeOf(v any) (map[string]any, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	m := map[string]any{}
	if err := d.Decode(&m); err != nil {
		return nil, err
	}
	return m, nil
}

// pathSteps are the steps of a path: openings[0].width_m is openings, 0, width_m; a number stands for a place in a list.
func pathSteps(path string) []string {
	return strings.FieldsFunc(path, func(r rune) bool { return r == '.' || r == '[' || r == ']' })
}

// treeAt finds what a path leads to, nil for nothing.
func treeAt(tree any, path string) any {
	for _, s := range pathSteps(path) {
		switch t := tree.(type) {
		case map[string]any:
			tree = t[s]
		case []any:
			n, err := strconv.Atoi(s)
			if err != nil || n < 0 || n >= len(t) {
				return nil
			}
			tree = t[n]
		default:
			return nil
		}
	}
	return tree
}

// mostListed bounds a list in a form; what a path names beyond it is not followed.
const mostListed = 100

// treePut puts a value where a path leads, making objects and lists on the way; nil takes it away.
func treePut(tree any, steps []string, v any) any {
	if len(steps) == 0 {
		return v
	}
	if n, err := strconv.Atoi(steps[0]); err == nil {
		list, _ := tree.([]any)
		if n < 0 || n >= mostListed || v == nil && n >= len(list) {
			return tree
		}
		for len(list) <= n {
			list = append(list, nil)
		}
		list[n] = treePut(list[n], steps[1:], v)
		return list
	}
	m, _ := tree.(map[string]any)
	if m == nil {
		if v == nil {
			return tree
		}
		m = map[string]any{}
	}
	if got := treePut(m[steps[0]], steps[1:], v); got == nil {
		delete(m, steps[0])
	} else {
		m[steps[0]] = got
	}
	return m
}

// prune takes away what is left empty: objects without keys, lists without anything in them. moved tells for each list
// where its elements came from, so that a complaint about the second finds the row in which it was typed.
func prune(tree any, path string, moved map[string][]int) any {
	switch t := tree.(type) {
	case map[string]any:
		for k, v := range t {
			at := k
			if path != "" {
				at = path + "." + k
			}
			if got := prune(v, at, moved); got == nil {
				delete(t, k)
			} else {
				t[k] = got
			}
		}
		if len(t) == 0 {
			return nil
		}
		return t
	case []any:
		var out []any
		var from []int
		for i, v := range t {
			if got := prune(v, path+"["+itoa(i)+"]", moved); got != nil {
				out, from = append(out, got), append(from, i)
			}
		}
		if len(out) == 0 {
			return nil
		}
		moved[path] = from
		return out
	}
	return tree
}

// typedPath turns the path of what was recorded into that of what was typed.
func typedPath(path string, moved map[string][]int) string {
	for list, from := range moved {
		rest, ok := strings.CutPrefix(path, list+"[")
		if !ok {
			continue
		}
		digits, tail, ok := strings.Cut(rest, "]")
		n, err := strconv.Atoi(digits)
		if ok && err == nil && n < len(from) {
			return list + "[" + itoa(from[n]) + "]" + tail
		}
	}
	return path
}

// textOf is a value of a record as a field shows it.
func textOf(v any) string {
	switch v := v.(type) {
	case json.Number:
		return v.String()
	case string:
		return v
	case bool:
		return strconv.FormatBool(v)
	}
	return ""
}
