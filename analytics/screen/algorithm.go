package screen

// algorithm is the whole way from findings to verdict, in the order a script
// follows it. It travels in the document.
var algorithm = []string{
	"Text is trimmed of space, tab, CR, LF. Choices are compared in ASCII lower case with each run of those and of hyphens as one underscore. Text longer than 64 bytes is no choice.",
	"Skip struck findings, misreadings and disagreements when gathering facts. place = 0 when 'on' is empty or 'lot'; else one number for each board. day = UTC day of 'at', or none.",
	"Facts of a finding: an unknown kind yields 'unknown=kind'. A number kind yields the facts of the first band with number <= upto, where a number is 1 to 3 digits, optionally a point or comma and 1 to 3 digits, optionally '%'. A listed value (for a kind with 'prefix', also the longest listed value that the text starts with, cut at an underscore) yields 'kind=value' and its facts; for a kind with read 'mark' only if the value has 'own'. Else read 'mark' goes by mark_facts; other free text yields 'kind=?'. Anything else yields 'kind=?' and 'unknown=value'.",
	"A finding clears when it yielded facts otherwise than as unknown, is not dated later than the day after today (when today is given), was not set aside, and has a note where its kind or value has a note_label. Free text read as a mark clears when it yields a fact beside 'mark.any' and 'mark.noise'.",
	"A misreading with a note, not struck, not in the future, sets aside every finding whose id is its value, or, if none, every finding on the same place whose 'kind=value' it is (value compared as a choice). One recorded on a board sets aside a finding of the lot only when that board alone is judged; one recorded on the lot sets aside anything.",
	"A rule without clauses fires once. Any other fires for each finding (set aside or not) that yields a fact of its first clause, if each further clause shares a fact with the findings that were not set aside.",
	"A firing of a finding set aside falls away if the rule has no 'misread', else takes the mildest met step ('to' empty: falls away), or stays. Any other firing takes the mildest met lift, if that is milder than the rule's verdict.",
	"A lift or step is met when each clause is met by a clearing finding that reaches and is timely. Reach: 'own' asks for a finding of the board when one board is judged. Else the same place (silence is place 0), or the lot's finding for a board unless its kind has reach 'piece', or, when one board is judged, the board's finding for the lot. Timely (kinds with 'dated', and a firing by a finding): with 'later', both days known and its day later; else the firing's day unknown, or its day known and not earlier. 'apart': only dated findings, and the first and last that meet the clause are so many days apart.",
	"A policy setting replaces the verdict of a rule (key: its id) or the 'to' of a lift (key: id/lift id) if it is in 'allowed'.",
	"The verdict is the worst of what is left ('hold' if nothing is). Rules with verdict '' are remarks, or with 'stop' a legal stop apart from the verdict.",
}
