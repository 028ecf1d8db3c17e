package studbook

type workbook struct{}
