package contract

import (
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"
)

// WriteRecords writes a slice of the contract's structs as CSV, so that it has
// the keys of the JSON as its columns, in their order. What is absent is
// blank, lists are joined by "; ".
func WriteRecords[T any](w io.Writer, records []T) error {
	var header []string
	var fields [][]int
	for _, f := range reflect.VisibleFields(reflect.TypeFor[T]()) {
		if f.Anonymous { // its fields come by themselves
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		header, fields = append(header, name), append(fields, f.Index)
	}
	rows := make([][]string, len(records))
	for i := range records {
		v := reflect.ValueOf(&records[i]).Elem()
		for _, k := range fields {
			rows[i] = append(rows[i], plainCell(v.FieldByIndex(k)))
		}
	}
	return writeCSV(w, header, rows)
}

func plainCell(v reflect.Value) string {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return ""
		}
		return plainCell(v.Elem())
	case reflect.Float64:
		return strconv.FormatFloat(v.Float(), 'f', -1, 64) // 0.00000016, which every spreadsheet reads
	case reflect.Slice:
		items := make([]string, v.Len())
		for k := range items {
			items[k] = plainCell(v.Index(k))
		}
		return strings.Join(items, "; ")
	}
	return fmt.Sprint(v.Interface())
}
