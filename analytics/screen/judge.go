package screen

func judge(findings []Finding, opts Options, board bool) Judgement {
	return Judgement{Verdict: Hold}
}
