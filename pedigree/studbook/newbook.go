package studbook

import "github.com/xuri/excelize/v2"

// PrintWide sets a sheet of a new workbook to be printed as wide as the paper.
func PrintWide(f *excelize.File, sheet string) error {
	size, orientation, fit, one, any := 9, "landscape", true, 1, 0 // 9 is A4
	if err := f.SetPageLayout(sheet, &excelize.PageLayoutOptions{Size: &size, Orientation: &orientation, FitToWidth: &one, FitToHeight: &any}); err != nil {
		return err
	}
	return f.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &fit})
}

// SignWorkbook names the program, and not the library that writes it, as author of a new
// workbook; the title may be "".
func SignWorkbook(f *excelize.File, title string) error {
	const author = "Pairwright"
	if err := f.SetDocProps(&excelize.DocProperties{Title: title, Creator: author, LastModifiedBy: author}); err != nil {
		return err
	}
	return f.SetAppProps(&excelize.AppProperties{Application: author})
}
