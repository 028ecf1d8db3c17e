package golden

// Hostile are texts that people and programs have put into studbooks.
var Hostile = []string{
	`<script>alert("x")</script>`,
	`"><img src=x onerror=alert(1)>`,
	`' onmouseover='alert(1)`,
	"</style></svg></title>",
	"javascript:alert(1)",
	"{{.Title}} ${x} %s",
	"a|b\\|c`d`*e*_f_[g](http://h)~~i~~",
	"# 1. - + = > not a heading",
	"1. not a list",
	"--- ",
	"=1+1",
	"tab\there, line\nbreak\r\nand\vmore\u2028",
	"\x1b[31mred\x1b[0m\a\x00",
	"\u202eright to left\u202c אבג עברית العربية",
	"bad \xff\xfe bytes",
	"한국어 日本語 ﬀ 👩‍👩‍👧‍👦 é",
	"Llanfairpwllgwyngyllgogerychwyrndrobwllllantysiliogogogochllanfairpwllgwyngyllgogerychwyrndrobwllllantysiliogogogoch",
	"&amp; &lt; &#x3c;",
	"   ",
	"",
}
