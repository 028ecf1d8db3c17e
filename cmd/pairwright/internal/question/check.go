package question

import (
	"context"
	"errors"

	"pairwright/cmd/pairwright/internal/contract"
	"pairwright/cmd/pairwright/internal/document"
	"pairwright/cmd/pairwright/internal/report"
	"pairwright/pairing"
	"pairwright/pedigree"
	"pairwright/pedigree/studbook"
)

var checkQuestion = &Question{
	Name: "check", About: Look,
	Short: "Say whether the files are sound and which gaps in parentage cost most",
	Long: `Reads every file of the colony and lists all faults at once, each with its file
and line, what is wrong and what to do. Errors stop every computation (exit
status 1), warnings do not. Then lists the unknown and uncertain parents by the
share of the living birds' genes that flows through them, with the birds that
could have been the parent. Pairs of close kin are among the findings.`,
	Rows:   "a row for each finding",
	uses:   states,
	living: true,
	new:    func() ask { return check{} },
}

type check struct{}

func (check) settings() []Setting { return nil }

func (check) check(*Asked) error { return nil }

func (check) answer(ctx context.Context, a *Asked, f *Folder) (*Answer, error) {
	var (
		findings []studbook.Finding
		notes    []string
		gaps     []pairing.Gap
	)
	if f.Faults != nil {
		findings = f.Faults.Findings
	} else {
		findings, notes = f.warnings(a), f.Colony.Notes
	}
	p, err := f.programme(ctx, a)
	if f.Faults == nil {
		further, err := pedigreeFindings(ctx, p, err)
		if err != nil {
			return nil, err
		}
		findings = append(findings, further...)
	}
	if p != nil {
		gaps = p.Gaps()
		if f.Faults == nil {
			findings = append(findings, report.ChicksFindings(p)...)
			findings = append(findings, report.UntoldFindings(p)...)
		}
	}
	value := func() contract.Check { return contract.CheckJSON(findings, p, gaps) }
	return &Answer{
		schema: "pairwright/check 1", value: func() any { return value() },
		rows: records(func() []contract.CheckFinding { return value().Findings }), Own: notes,
		FindingsInside: true, Findings: findings, AtFault: studbook.Errors(findings) > 0,
		build: func() *document.Document { return report.CheckDocument(f.Name, a.Studbook, findings, notes, p, gaps) },
	}, nil
}

// CheckPedigree finds what check does in a colony beyond what is found in reading it, on
// the day that its files are of.
func CheckPedigree(ctx context.Context, c *studbook.Colony) ([]studbook.Finding, error) {
	p, err := pairing.NewAbout(ctx, c.At(dayOf(c, studbook.Today())))
	return pedigreeFindings(ctx, p, err)
}

// pedigreeFindings are the findings that only the pedigree shows, from a programme or from
// the error that there is none: founder kinship that cannot be, pairs of close kin, and
// parents and founders of whom DNA says something else.
func pedigreeFindings(ctx context.Context, p *pairing.Programme, err error) ([]studbook.Finding, error) {
	var impossible *pedigree.KinshipError
	switch {
	case errors.As(err, &impossible):
		return []studbook.Finding{kinshipFinding(impossible)}, nil
	case err != nil:
		return nil, err
	}
	var found []studbook.Finding
	for _, x := range p.KinBonds(p.Settings().LimitInbreeding) {
		found = append(found, report.KinBondFinding(p, &x))
	}
	tested, err := p.Parentages(ctx)
	if err != nil {
		return nil, err
	}
	for _, x := range tested {
		for _, side := range x.Sides() {
			if side.Answer == pairing.ParentContradicted {
				found = append(found, report.ParentFinding(p, x.Bird, side))
			}
		}
	}
	for _, x := range p.FounderKin().Told {
		if x.Answer == pairing.FoundersFound || x.Answer == pairing.FoundersContradicted {
			found = append(found, report.FounderFinding(p, x))
		}
	}
	return found, nil
}

// kinshipFinding is a founder kinship that only the pedigree shows to be
// impossible, as a finding.
func kinshipFinding(e *pedigree.KinshipError) studbook.Finding {
	return studbook.Finding{
		Severity: studbook.Error, File: "founder_kinship.csv", Code: "impossible_kinship",
		Message: e.Reason + ": " + document.FormatList(e.IDs, 10), Help: "check these values against the laboratory's report",
	}
}
