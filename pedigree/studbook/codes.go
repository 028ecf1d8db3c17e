package studbook

// Codes of findings. They are stable: documents and scripts may rely on them.
const (
	// Of whole files.
	codeEmptyFile      = "empty_file"      // no header row
	codeNoBirds        = "no_birds"        // a header row and nothing below it
	codeBadWorkbook    = "bad_workbook"    // not a workbook that can be opened
	codeNoSheet        = "no_sheet"        // a workbook without a sheet named studbook
	codeColumnMeant    = "column_not_read" // and one of ours is missing that it seems to be
	codeMissingColumn  = "missing_column"  // a required column
	codeHeaderBelow    = "header_below"    // the first row is none of column names, a later one is
	codeRepeatedColumn = "repeated_column" // two columns of one name
	codeUnknownMapping = "unknown_mapping" // a mapping of a column that is not ours or not there
	codeUnreadFile     = "unread_file"     // it seems to be one of ours under another name
	codeBadSettings    = "bad_settings"    // programme.toml is not TOML
	codeUnknownSetting = "unknown_setting" // a key that nothing reads
	codeBadSetting     = "bad_setting"     // a value of the wrong kind or range

	// Of single rows and cells.
	codeBrokenQuotes     = "broken_quotes"
	codeControlCharacter = "control_character"
	codeDamagedCharacter = "damaged_character"
	codeLongCell         = "long_cell"
	codeTooManyRows      = "too_many_rows"
	codeShortRow         = "short_row"
	codeSkippedRow       = "skipped_row" // it begins with # and looks like no remark
	codeTotalsRow        = "totals_row"
	codeSheetError       = "spreadsheet_error" // #N/A and the like
	codeUnstored         = "value_not_stored"  // a formula of a workbook without its value
	codeMerged           = "merged_cells"      // of a workbook
	codeBareRow          = "bare_row"          // an id and nothing else
	codeFormula          = "formula"           // a spreadsheet would run the cell
	codeInvisibleSign    = "invisible_character"
	codeLongRow          = "long_row"
	codeMissingValue     = "missing_value"
	codeBadID            = "bad_id"
	codeBadSex           = "bad_sex"
	codeBadOrigin        = "bad_origin"
	codeBadParent        = "bad_parent"
	codeUnreadableDate   = "unreadable_date"
	CodeDateOrder        = "dates_in_other_order" // all of a file, for which import has the cure
	codeFutureDate       = "future_date"
	codeBadNumber        = "bad_number"
	codeOutOfRange       = "out_of_range"
	codeBadBlock         = "bad_block"
	codeBadSubject       = "bad_subject"  // what was decided
	codeBadAnswer        = "bad_decision" // how
	codeBadFixed         = "bad_fixed"    // of a season of one's own

	// Of birds and their parents.
	codeDuplicateID        = "duplicate_id"
	codeCycle              = "cycle"
	codeFemaleSire         = "female_sire"
	codeMaleDam            = "male_dam"
	codeSireAndDam         = "sire_and_dam"
	codeUnsexedBreeder     = "unsexed_breeder"
	codeParentAfterChick   = "parent_hatched_after_chick"
	codeParentTooYoung     = "parent_too_young"
	codeParentDiedBefore   = "parent_died_before_chick"
	codeParentWithoutRow   = "parent_without_row"
	codeParentsWithoutRow  = "parents_missing" // how many of them
	codeWrittenOtherwise   = "id_written_otherwise"
	codeAlikeIDs           = "alike_ids"
	codeUnknownMarker      = "unknown_marker"
	codeDeathBeforeHatch   = "death_before_hatch"
	codeOlderThanRecord    = "older_than_record"
	codeUnknownInstitution = "unknown_institution"
	codeAlikeCodes         = "alike_codes" // of institutions
	codeSameBand           = "same_band"
	codeWildWithParents    = "wild_with_parents"
	codeParentTooOld       = "parent_too_old"
	codeManyChicks         = "many_chicks"
	codeParentsApart       = "parents_apart"        // never at one place
	CodeParentsUnbonded    = "parents_without_bond" // living, and their last chicks are of both
	codeNoPlace            = "no_place"             // a living bird without a location

	// Of what the other files say of them.
	codeUnknownID         = "unknown_id"
	codeEndBeforeStart    = "end_before_start"
	codeSameBird          = "same_bird"
	codeTooManyBirds      = "number_of_birds" // a decision about too few birds or too many
	codeWrongSex          = "wrong_sex"
	codeBondApart         = "bond_apart"
	codeTwoOpenBonds      = "two_open_bonds"
	codeMoveFromOther     = "move_from_elsewhere"
	codeMoveOutsideLife   = "move_outside_life"
	codeLocationUnmoved   = "location_disagrees"
	codeClutchCounts      = "clutch_counts"
	codeRepeatedRow       = "repeated_row" // it says the same as another
	codeBondOutsideLife   = "bond_outside_life"
	codeBondOfNestling    = "bond_of_nestling"
	codeEndWithoutDay     = "end_without_day"
	codeClutchOutsideLife = "clutch_outside_life"
	codeClutchApart       = "clutch_apart" // its birds lived at two places
	codeManyEggs          = "many_eggs"
	codeEarlyOutcome      = "outcome_too_early"   // chicks before the eggs can have hatched
	codeClutchesClose     = "clutches_close"      // two of one female within days
	codeFledgedWithoutRow = "fledged_without_row" // chicks that the studbook does not have
	codeEndedByDeath      = "ended_by_death"      // of birds that live
	codeSameNest          = "same_nest"           // of two pairs
	codeAtZero            = "at_zero"             // of latitude and longitude
	codeHoldOutsideLife   = "hold_outside_life"
	codeMoveNowhere       = "move_nowhere" // to where it came from
	codeTwoMovesADay      = "two_moves_in_a_day"
	codeAfterFilesDay     = "after_current_to" // records of days that no answer reaches
	codeDayBeyondRecords  = "day_beyond_records"
	codeHalfPlaced        = "half_placed"
	codeNotFounder        = "not_a_founder"
	codeDuplicateKinship  = "duplicate_kinship"
	codeKinshipAboveSelf  = "kinship_above_self"
	codeNegativeKinship   = "negative_kinship"
	codeSampleOfNobody    = "sample_of_nobody" // in the studbook
	codeBadGenotype       = "bad_genotype"
	codeHalfGenotype      = "half_genotype" // one allele of two
)
