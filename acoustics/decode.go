package acoustics

import (
	"bytes"
	"cmp"
	"encoding"
	"encoding/json"
	"errors"
	"reflect"
	"sort"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"
)

// maxDepth is how deeply JSON may be nested. Nothing of ours comes near it; deeper input is a mistake or an attack on the stack.
const maxDepth = 32

// Decode reads one JSON value into v, which must be a pointer, and refuses what encoding/json lets pass: unknown keys (by name and path;
// names are case-sensitive), duplicate keys, null where a value is needed, numbers beyond float64, text that is not UTF-8, trailing data,
// and nesting deeper than 32. Every complaint is an [*InputError]. A type with its own UnmarshalJSON may call Decode again: the path of
// the outer value is put in front. Whether a needed key is there is for the Valid methods to say.
func Decode(data []byte, v any) error {
	if len(bytes.TrimSpace(data)) == 0 {
		return &InputError{Value: "empty", Hint: "give one JSON value"}
	}
	if !utf8.Valid(data) {
		return &InputError{Value: "not UTF-8 text", Hint: "save it as UTF-8"}
	}
	if depth(data) > maxDepth {
		return &InputError{Value: "nested too deeply", Range: "at most 32 levels"}
	}
	target := reflect.ValueOf(v)
	if target.Kind() != reflect.Pointer || target.IsNil() {
		return &InputError{Value: "decoded into something that is not a pointer"}
	}
	if !json.Valid(data) {
		return invalid(data)
	}
	raw := json.RawMessage(bytes.TrimSpace(data))
	if err := wellFormed(raw, ""); err != nil {
		return err
	}
	if err := conform(raw, target.Type().Elem(), ""); err != nil {
		return err
	}
	if err := json.Unmarshal(raw, v); err != nil {
		return asInput(err, "")
	}
	return nil
}

// depth counts brackets outside of strings, before any recursion happens.
func depth(data []byte) int {
	level, deepest, inString, escaped := 0, 0, false, false
	for _, c := range data {
		switch {
		case escaped:
			escaped = false
		case inString:
			escaped = c == '\\'
			inString = c != '"'
		case c == '"':
			inString = true
		case c == '{' || c == '[':
			level++
			deepest = max(deepest, level)
		case c == '}' || c == ']':
			level--
		}
	}
	return deepest
}

// wellFormed refuses duplicate keys and numbers beyond float64 anywhere in the value, also where no type looks.
func wellFormed(raw json.RawMessage, path string) error {
	switch first(raw) {
	case '{':
		keys, values := members(raw)
		if k, twice := repeated(keys); twice {
			return &InputError{Field: join(path, k), Value: "given twice", Hint: "keep one of the two"}
		}
		for i, k := range keys {
			if scalar(values[i]) {
				continue
			}
			if err := wellFormed(values[i], join(path, k)); err != nil {
				return err
			}
		}
	case '[':
		for i, e := range elements(raw) {
			if err := wellFormed(e, indexed(path, i)); err != nil {
				return err
			}
		}
	case '-', '0', '1', '2', '3', '4', '5', '6', '7', '8', '9':
		if _, err := strconv.ParseFloat(string(bytes.TrimSpace(raw)), 64); err != nil {
			return &InputError{Field: path, Value: shorten(string(raw)), Range: "a finite number"}
		}
	}
	return nil
}

var (
	unmarshaler     = reflect.TypeFor[json.Unmarshaler]()
	textUnmarshaler = reflect.TypeFor[encoding.TextUnmarshaler]()
)

// conform walks the value along the Go type it is meant for.
func conform(raw json.RawMessage, t reflect.Type, path string) error {
	null := first(raw) == 'n'
	if t.Kind() == reflect.Pointer {
		if null {
			return nil
		}
		return conform(raw, t.Elem(), path)
	}
	if reflect.PointerTo(t).Implements(unmarshaler) {
		if err := reflect.New(t).Interface().(json.Unmarshaler).UnmarshalJSON(raw); err != nil {
			return asInput(err, path)
		}
		return nil
	}
	if reflect.PointerTo(t).Implements(textUnmarshaler) {
		if first(raw) != '"' {
			return wrongType(path, raw, "text")
		}
		return nil
	}
	switch t.Kind() {
	case reflect.Struct:
		return conformStruct(raw, t, path)
	case reflect.Map:
		return conformMap(raw, t, path)
	case reflect.Slice, reflect.Array:
		return conformList(raw, t, path)
	case reflect.String:
		if first(raw) != '"' {
			return wrongType(path, raw, "text")
		}
	case reflect.Bool:
		if c := first(raw); c != 't' && c != 'f' {
			return wrongType(path, raw, "true or false")
		}
	case reflect.Float32, reflect.Float64:
		if !isNumber(raw) {
			return wrongType(path, raw, "a number")
		}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64,
		reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		if !wholeNumber(raw, t) {
			return wrongType(path, raw, "a whole number")
		}
	}
	return nil
}

func conformStruct(raw json.RawMessage, t reflect.Type, path string) error {
	if first(raw) != '{' {
		return wrongType(path, raw, "an object in braces")
	}
	keys, values := members(raw)
	known := fields(t)
	for i, k := range keys {
		ft, ok := known[k]
		if !ok {
			return unknownKey(path, k, known)
		}
		if err := conform(values[i], ft, join(path, k)); err != nil {
			return err
		}
	}
	return nil
}

func conformMap(raw json.RawMessage, t reflect.Type, path string) error {
	if first(raw) == 'n' {
		return nil
	}
	if first(raw) != '{' {
		return wrongType(path, raw, "an object in braces")
	}
	keys, values := members(raw)
	for i, k := range keys {
		if err := conform(values[i], t.Elem(), join(path, k)); err != nil {
			return err
		}
	}
	return nil
}

func conformList(raw json.RawMessage, t reflect.Type, path string) error {
	if first(raw) == 'n' && t.Kind() == reflect.Slice {
		return nil
	}
	if t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Uint8 {
		if first(raw) != '"' {
			return wrongType(path, raw, "base64 text")
		}
		return nil
	}
	if first(raw) != '[' {
		return wrongType(path, raw, "a list in square brackets")
	}
	values := elements(raw)
	if t.Kind() == reflect.Array && len(values) != t.Len() {
		return &InputError{Field: path, Value: "a list of " + strconv.Itoa(len(values)), Range: strconv.Itoa(t.Len()) + " values"}
	}
	for i, e := range values {
		if err := conform(e, t.Elem(), indexed(path, i)); err != nil {
			return err
		}
	}
	return nil
}

// knownFields holds the keys of each struct type, as they are looked up for every value.
var knownFields sync.Map

// fields lists the JSON keys of a struct type, those of embedded structs included.
func fields(t reflect.Type) map[string]reflect.Type {
	if known, ok := knownFields.Load(t); ok {
		return known.(map[string]reflect.Type)
	}
	known, _ := knownFields.LoadOrStore(t, listFields(t))
	return known.(map[string]reflect.Type)
}

func listFields(t reflect.Type) map[string]reflect.Type {
	known := make(map[string]reflect.Type, t.NumField())
	for i := range t.NumField() {
		f := t.Field(i)
		tag := f.Tag.Get("json")
		name, _, _ := strings.Cut(tag, ",")
		if tag == "-" {
			continue
		}
		if f.Anonymous && name == "" {
			inner := f.Type
			if inner.Kind() == reflect.Pointer {
				inner = inner.Elem()
			}
			if inner.Kind() == reflect.Struct {
				for k, ft := range listFields(inner) {
					if _, own := known[k]; !own {
						known[k] = ft
					}
				}
				continue
			}
		}
		if !f.IsExported() {
			continue
		}
		known[cmp.Or(name, f.Name)] = f.Type
	}
	return known
}

func unknownKey(path, key string, known map[string]reflect.Type) error {
	names := make([]string, 0, len(known))
	for k := range known {
		names = append(names, k)
	}
	sort.Strings(names)
	hint := "no keys are known here"
	if len(names) > 0 {
		hint = "known here: " + strings.Join(names, ", ")
	}
	return &InputError{Field: join(path, shorten(key)), Value: "an unknown key", Hint: hint}
}

func first(raw json.RawMessage) byte {
	if i := blank(raw, 0); i < len(raw) {
		return raw[i]
	}
	return 0
}

func isNumber(raw json.RawMessage) bool {
	c := first(raw)
	return c == '-' || (c >= '0' && c <= '9')
}

func wrongType(path string, raw json.RawMessage, want string) error {
	given := shorten(string(bytes.TrimSpace(raw)))
	switch first(raw) {
	case '{':
		given = "an object"
	case '[':
		given = "a list"
	case 'n':
		given = "null"
	}
	return &InputError{Field: path, Value: given, Range: want}
}

// invalid says what is wrong with data that is not one JSON value.
func invalid(data []byte) error {
	dec := json.NewDecoder(bytes.NewReader(data))
	var raw json.RawMessage
	if err := dec.Decode(&raw); err != nil {
		return syntax(err)
	}
	return &InputError{Value: "followed by more data", Hint: "give one JSON value and nothing after it"}
}

func syntax(err error) error {
	var s *json.SyntaxError
	if errors.As(err, &s) {
		return &InputError{Value: "not JSON (" + s.Error() + ")", Hint: "look near byte " + strconv.FormatInt(s.Offset, 10)}
	}
	return &InputError{Value: "not complete JSON", Hint: "look for a bracket or quote that is not closed"}
}

// asInput turns any error into an InputError at path; those that already are one get the path in front.
func asInput(err error, path string) error {
	if in, ok := errors.AsType[*InputError](err); ok {
		return in.At(path)
	}
	var wrong *json.UnmarshalTypeError
	if errors.As(err, &wrong) {
		return &InputError{Field: join(path, wrong.Field), Value: wrong.Value, Range: "a " + wrong.Type.String()}
	}
	return &InputError{Field: path, Value: shorten(err.Error())}
}
