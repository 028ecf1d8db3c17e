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
	of := reflect.TypeFor[T]()
	header := make([]string, of.NumField())
	for k := range header {
		header[k], _, _ = strings.Cut(of.Field(k).Tag.Get("json"), ",")
	}
	rows := make([][]string, len(records))
	for i := range records {
		v := reflect.ValueOf(&records[i]).Elem()
		for k := range header {
			rows[i] = append(rows[i], plainCell(v.Field(k)))
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
