package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pairwright/cmd/pairwright/internal/question"
	"pairwright/pedigree/studbook"
)

// What the shell can complete: ids of birds and codes of institutions come from
// the studbook that the command line names so far.

// completeBirds completes the ids of birds, up to the number that a question is
// about.
func completeBirds(asked *question.Asked, most int) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, begun string) ([]cobra.Completion, cobra.ShellCompDirective) {
		if len(args) >= most {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return birdsBegun(cmd, asked, begun), cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveKeepOrder
	}
}

// completeList completes the last of several ids with commas between them.
func completeList(asked *question.Asked) cobra.CompletionFunc {
	return func(cmd *cobra.Command, _ []string, begun string) ([]cobra.Completion, cobra.ShellCompDirective) {
		done := begun[:strings.LastIndex(begun, ",")+1]
		list := birdsBegun(cmd, asked, begun[len(done):])
		for k := range list {
			list[k] = done + list[k]
		}
		return list, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace | cobra.ShellCompDirectiveKeepOrder
	}
}

// birdsBegun returns the birds whose ids begin with a text, the living first,
// each with its name, sex and place.
func birdsBegun(cmd *cobra.Command, asked *question.Asked, begun string) []cobra.Completion {
	folder, err := asked.Read(cmd.Context())
	if err != nil || folder.Colony == nil {
		return nil // the command itself will say what is wrong
	}
	s := folder.Colony.At(folder.Day(asked))
	lives := make(map[int]bool, len(s.Living))
	for _, i := range s.Living {
		lives[i] = true
	}
	var living, others []cobra.Completion
	for i := range s.Birds {
		b := &s.Birds[i]
		if !strings.HasPrefix(b.ID, begun) {
			continue
		}
		told := []string{b.Name, b.Sex.Word(), b.Location}
		if !lives[i] {
			told = append(told, "not among the living")
		}
		c := cobra.CompletionWithDesc(b.ID, strings.Join(slices.DeleteFunc(told, func(t string) bool { return t == "" }), ", "))
		if lives[i] {
			living = append(living, c)
		} else {
			others = append(others, c)
		}
	}
	slices.Sort(living)
	slices.Sort(others)
	return append(living, others...)
}

// completeCodes completes the codes of institutions.
func completeCodes(asked *question.Asked) cobra.CompletionFunc {
	return func(cmd *cobra.Command, _ []string, begun string) ([]cobra.Completion, cobra.ShellCompDirective) {
		folder, err := asked.Read(cmd.Context())
		if err != nil || folder.Colony == nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		names := make(map[string]string)
		for _, b := range folder.Colony.Birds {
			names[b.Location] = ""
		}
		for _, in := range folder.Colony.Institutions {
			names[in.Code] = in.Name
		}
		var list []cobra.Completion
		for code, name := range names {
			if code != "" && strings.HasPrefix(code, begun) {
				list = append(list, cobra.CompletionWithDesc(code, name))
			}
		}
		slices.Sort(list)
		return list, cobra.ShellCompDirectiveNoFileComp
	}
}

// completeFlags tells the shell what the values of a command's flags can be:
// words, institutions, birds, or files.
func completeFlags(cmd *cobra.Command, asked *question.Asked) {
	for _, s := range asked.Settings() {
		complete := cobra.CompletionFunc(nil)
		switch {
		case s.Words != nil:
			complete = cobra.FixedCompletions(s.Words, cobra.ShellCompDirectiveNoFileComp)
		case s.Takes == "CODE":
			complete = completeCodes(asked)
		case s.Takes == "ID":
			complete = completeList(asked)
		case s.Key == "column":
			complete = completeColumn
		case s.Key == "studbook":
			complete = completeStudbook
		case s.Takes == "DIR":
			complete = cobra.FixedCompletions(nil, cobra.ShellCompDirectiveFilterDirs)
		case s.Takes != "FILE" && s.Kind() != question.YesNo:
			complete = cobra.NoFileCompletions
		}
		register(cmd, s.Key, complete)
	}
}

// register gives a flag its completion.
func register(cmd *cobra.Command, flag string, complete cobra.CompletionFunc) {
	if complete == nil {
		return
	}
	if err := cmd.RegisterFlagCompletionFunc(flag, complete); err != nil {
		panic(err) // there is no such flag, or it is registered twice
	}
}

// completeOne completes the one word that a command takes.
func completeOne(words ...cobra.Completion) cobra.CompletionFunc {
	return func(_ *cobra.Command, args []string, _ string) ([]cobra.Completion, cobra.ShellCompDirective) {
		if len(args) > 0 {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
		return words, cobra.ShellCompDirectiveNoFileComp
	}
}

// completeFolder completes the one folder that a command writes.
var completeFolder = cobra.FixedCompletions(nil, cobra.ShellCompDirectiveFilterDirs)

// completeStudbook completes the names of files that a studbook can be.
var completeStudbook = cobra.FixedCompletions([]string{"csv", "xlsx", "xlsm"}, cobra.ShellCompDirectiveFilterFileExt)

// completeColumn completes our names of columns, behind which theirs are written.
func completeColumn(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
	return ourColumns(), cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
}

// completeForeign completes the names of files that import reads.
var completeForeign = cobra.FixedCompletions([]string{"xlsx", "xlsm", "ods", "csv", "tsv", "txt", "fam", "ged"}, cobra.ShellCompDirectiveFilterFileExt)

// ourColumns are the columns of the studbook, as --column has them.
func ourColumns() []cobra.Completion {
	var list []cobra.Completion
	for _, c := range studbook.Files()[0].Columns {
		list = append(list, cobra.CompletionWithDesc(c.Name+"=", strings.ReplaceAll(c.Means, "`", "")))
	}
	return list
}
