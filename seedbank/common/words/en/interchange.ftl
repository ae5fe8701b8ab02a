# What the room interchange says.

import-refused = Nothing was imported: { $problems ->
        [one] 1 problem
       *[other] { COUNT($problems) } problems
    }.
    .mend = Mend the lines named in the files and import the folder again.
archive-refused = { import-refused }
    .mend = Export the collection again, or mend the lines named.
sheet-refused = { import-refused }
    .mend = Mend the lines named in the file, or leave them out, and bring it again.
problems-more = and { COUNT($more) } more
import-problem = { $line ->
        [0] { $file }
       *[other] { $file } line { $line }
    }{ $column ->
        [unknown] :
       *[other] , { $column } { $value }:
    }

passport-before-packets = Version 1 of the format has nothing of what a packet says, what went wrong with a test or when a jar was sealed anew; that is in version 2.
passport-days-disordered = { comes-before }
    .mend = { -ask-giver }
tested-before-harvest = { comes-before }
    .mend = A test can't start before the harvest. { -ask-giver }
received-before-given = { comes-before }
    .mend = Give the day it came here.

# What to know of a record of the passport descriptors before it is handed on.

institute-left-out = INSTCODE is left out: give the code of the institute that keeps it, if it has one.
species-left-out = GENUS and SPECIES are left out: state the kind's botanical name.
status-left-out = SAMPSTAT is left out: what is on record doesn't tell which code it comes under.
country-left-out = ORIGCTY is left out: the country it was bred or collected in is not on record.
donor-may-be-person = DONORNAME may name a person: ask them, or strike it out, before you hand this on.
name-written-otherwise = ACCENAME is written as the standard asks; here it is '{ $variety }'.

# Values that don't go together (forms).

sheet-as-text-or-base64 = give the sheet as text or as base64, one of the two

no-row-on-line = No row is there.
    .mend = Name lines that hold a row.

sheet-changed-since = This isn’t what was shown: the sheet, or what is known here, changed since.
    .mend = Look through it once more, and confirm what is shown then.

no-such-column = No such column.
    .mend = The sheet has these: { $headings }.
column-meaning-taken = { cannot-be }
    .mend = Let one column be { sheet-meaning }.

option-not-name-value = { cannot-be }
    .mend = Write it as NAME=VALUE.

no-row-left-to-take-in = No row is left to take in.
    .mend = Leave fewer lines out.

variety-name-missing = { cannot-be }
    .mend = Give the name of the variety.
accession-taken-in = This accession was taken in before, as lot { $lot }.
    .mend = Leave the record out, or book more of its seed to that lot.
accession-told-twice = This accession was told above.
    .mend = Leave the record out, or book more of its seed to that lot.
no-such-field = No such field.
    .mend = Use the field names of the standard.
genus-missing = { cannot-be }
    .mend = Give the genus and species, or a known CROPNAME.

file-exists = { cannot-be }
    .mend = Name a file that isn't there yet; none is overwritten.

kind-named-otherwise = Here the kind { $kind } is { $here }.
    .mend = Take it in by hand, under the kind it is of.

not-a-folder = { cannot-be }
    .mend = Name a folder of CSV files.

collection-not-empty = An archive is taken into an empty collection, and this one has a { $used } already.
    .mend = Name a new database, or import a folder of spreadsheets to add to this one.

folder-missing = { cannot-be }
    .mend = Make the folder { $folder } first.

no-such-kind = No such kind.
    .mend = This can't be it: { $why }.
meant-date-misread = “{ $value }”: { $why }.
    .mend = Write it like October 2009, 2009 to 2010, 2009-10-31 or unknown.
sheet-too-long = A page can carry { COUNT($most) } characters, and this has { COUNT($characters) }.
    .mend = Bring it in parts, or use seedbank import at the machine itself.
no-line = { $piece } isn’t a line.
    .mend = Write the numbers of lines, like 7, 9-12.
misfit = { cannot-be }
    .mend = { $mend }.
species-not-known = { cannot-be }
    .mend = Add the kind with its botanical name first.
species-of-kinds = { cannot-be }
    .mend = Say which of these it is: { $names }.
passport-cannot-tell = A passport can't tell { $field } as it is on record.
    .mend = { $mend }
-ask-giver = Ask the giver for the passport anew.
passport-changed = The passport was changed since it was written.
    .mend = { -ask-giver }
harvested-after-given = It was harvested after it was given.
    .mend = { -ask-giver }
day-counted-twice = That day is counted twice.
    .mend = { -ask-giver }
passport-judged-not-as-set = { COUNT($judged) } seeds are judged but { COUNT($value) } were set.
    .mend = { -ask-giver }

# What was read of a sheet: its file, its columns, its cells (interchange.spreadsheet).

file-too-large = Bring a file of at most { COUNT($most) } bytes.
no-sheet-brought = Choose a file, or paste the rows of your list below.
sheet-encoding = { $choice ->
        [utf-8-marked] Read as UTF-8, as its byte order mark says.
        [utf-16-marked] Read as UTF-16, as its byte order mark says.
        [utf-16] Read as UTF-16, as every other byte of it is empty.
        [windows-1252] Read as Windows-1252, as it is no UTF-8: look whether accented letters came out right.
        [windows-1250] Read as Windows-1250, as it is no UTF-8: look whether accented letters came out right.
        [dos-850] Read as the DOS character set 850, as it is no UTF-8: look whether accented letters came out right.
        [mac-roman] Read as the old Macintosh character set, as it is no UTF-8: look whether accented letters came out right.
       *[utf-8] Read as UTF-8.
    }
sheet-cells-apart = Cells are set apart by { $delimiter ->
        [comma] commas
        [semicolon] semicolons
        [bar] upright bars
       *[tab] tabs
    }.
sheet-no-csv = this is { $kind ->
        [workbook] a workbook or an archive
        [old-workbook] a workbook of the old kind
       *[pdf] a PDF
    }; save the sheet as CSV in your spreadsheet program, and bring that
sheet-no-workbook = this can’t be read as a workbook (.xlsx or .ods); it may be damaged or locked: save it anew, without a password, or as CSV
sheet-unpacks-too-large = this workbook unpacks to more than { COUNT($most) } bytes; save the sheet with your seed alone, or as CSV
sheet-no-text = bytes here are no { $encoding } text; save the file as CSV in UTF-8
sheet-no-rows = there are no rows here to take in
sheet-too-many-rows = bring at most { COUNT($most) } rows at a time
sheet-line-too-long = a row may hold { COUNT($most) } characters, this holds more
sheet-row-too-long = this row holds { COUNT($characters) } characters; a row may hold { COUNT($most) },
    as it is kept whole in the lot's notes
sheet-too-many-columns = this row has { COUNT($columns) } columns; bring at most { COUNT($most) }
sheet-unseen-sign = { $sign ->
        [NUL] a NUL
       *[other] the character { $sign }
    } stands here, which nobody can see and which can mislead; delete it
sheet-open-quote = a quote that begins here isn't closed, or stands within a cell ({ $fault })
sheet-heading-twice = two columns are headed “{ $heading }”; give each a heading of its own

sheet-title-above = The headings are on line { $line }; what stands above them, as { $text }, is no seed.
sheet-not-read = The sheet { $sheet } holds no seed that could be told, so it isn’t read.
sheet-sections = { $lines ->
        [one] One line with a crop’s name alone is taken
       *[other] { COUNT($lines) } lines with a crop’s name alone are taken
    } for the heading of the lines below.
sheet-column-open = its heading isn’t known: say what stands in it, else it is kept in the notes
sheet-no-headings = No line of headings was found, so the first line is a row too.
sheet-column-unnamed = column { $place }
sheet-as-you-say = as you say
sheet-by-heading = by its heading
sheet-by-content = by what stands in it
sheet-only-column-left = as nothing else tells it
sheet-no-other-varieties = as there is no other column of varieties
sheet-column-kept = not recognised, so kept in the notes
sheet-meaning = { $choice ->
        [kind] the kind of plant
        [variety] the variety
        [amount] how much there is
        [packet_seeds] seeds in a packet
        [harvested] when it was harvested
        [acquired_on] when it came here
        [sow_by] the day to sow it by
        [printed_germination_pct] the germination printed on the packet
        [printed_test_on] when that germination was tested
        [packed_for] the season it was packed for
        [packed_on] when it was packed
        [seed_form] whether it is bare, pelleted or primed
        [treated] whether it is treated
        [thousand_seed_weight_g] the weight of a thousand seeds
        [generation] how many generations it was saved here
        [other_keepers] how many others keep it
        [origin] how it came here
        [donor] from whom
        [place] where it is kept
       *[notes] only to be kept in the notes
    }
sheet-column-order = { $heading }: { $order }.
sheet-order = { $choice ->
        [day-first] the day (12/3 is the 12th of March)
       *[month-first] the month
    }
sheet-pair = { $choice ->
        [month] a month (2009-10 is October 2009)
       *[years] two years (2009-10 is 2009 to 2010)
    }
sheet-blank = { $choice ->
        [as-above] of the kind above it
       *[unknown] not known, so to be said in each row
    }
sheet-first = { $first ->
        [day-first] the day comes first
       *[month-first] the month comes first
    }
sheet-cell = { $text } on line { $line }
sheet-order-said = { sheet-first }, as you say
sheet-order-shown = { sheet-first }, as { $cell } shows
sheet-orders-mixed = the day comes first in some and the month in others: { $cells }
sheet-order-open = { $text } may be either; say which comes first
sheet-places-added = Places that aren’t here yet are added by name; describe them afterwards.

-sheet-some = taken in as some, not counted, until you count or weigh it
sheet-no-amount = no amount is written: { -sheet-some }
sheet-amount-not-known = not known: { -sheet-some }
sheet-amount-misread = { $text } isn’t understood: { -sheet-some }
sheet-any-amount = { $text } may be any number of seeds: { -sheet-some }
sheet-none-left = none left, so no amount is booked
sheet-amount-impossible = no amount can be that; mend the cell
sheet-comma-open = the comma or point may part thousands or decimals; say which
sheet-partly-used = { $amount }, partly used: what was in it, or what is left
sheet-part-of-what = a part of what? Write “1/4 packet”, or how many seeds
sheet-seeds-not-whole = seeds are counted whole; is it a weight?
sheet-too-heavy = a lot weighs at most { GRAMS($most_g) }
sheet-too-many = a lot holds at most { COUNT($most) } seeds
sheet-packets = { $of ->
        [part] { DECIMALS($packets, 2) } of a packet
       *[packets] { $packets ->
            [one] 1 packet
           *[other] { $packets } packets
        }
    }
sheet-packets-of = { $amount } of { $packet_seeds } seeds
sheet-packets-of-perhaps = { $amount } of perhaps { $low } to { $high } seeds (assumed: { $note })
sheet-weight = { $unit ->
        [g] { $weight } g
       *[other] { $weight } { $unit }, which is { $weight_g } g
    }
sheet-counted = counted
sheet-between = between { $low } and { $high }
sheet-amount-between = { $amount } (between { $low } and { $high })
sheet-up-to = anything up to { $most }
sheet-or-more = { $amount }, or more
sheet-by-estimate = { $amount }, by estimate
sheet-seeds = { $amount }: { seeds-counted }{ $seeds_se ->
        [unknown] { "" }
       *[other] , give or take { $seeds_se }
    }
sheet-about-seeds = { $amount }: about { seeds-counted }
sheet-under-a-seed = less than one seed: { -sheet-some }
sheet-weight-under-a-seed = { $amount }: { sheet-under-a-seed }
sheet-weight-untold = { $amount }, but nothing is known of this seed’s weight: { -sheet-some }
sheet-packet-not-needed = not needed for the amount written
sheet-no-number = isn’t understood as a number
sheet-seeds-in-packet = { $packet_seeds } seeds in a packet

sheet-day = { DAY($day) }
sheet-day-number = { DAY($day) }, as a spreadsheet numbers days
sheet-year = { YEAR($year) }
sheet-day-not-known = not known
sheet-day-misread = { $text } isn’t understood as a day
sheet-day-to-come = { $when } is still to come; mend it
sheet-day-too-early = { $when } is before { YEAR($first_year) }; mend it
sheet-in-doubt = { $when }, in doubt
sheet-no-harvest-told = this tells nothing of its harvest
sheet-latest-harvest = { YEAR($year) }, the latest that seed to be used by { YEAR($use_by_year) } can be
sheet-day-or-month-first = day or month first? Say which
sheet-may-be = may be { ONE_OF($readings) }; say which
sheet-day-without-year = a day without its year
sheet-season = { $season ->
        [spring] spring
        [summer] summer
        [autumn] autumn
        [fall] fall
       *[winter] winter
    } of { YEAR($year) }
sheet-day-not-written = { MONTH($month) }, the day isn’t written
sheet-only-year = only the year is written
sheet-day-taken = { $span }: { DAY($day) } is taken
sheet-season-day-taken = { $span }: { DAY($day) } is taken, north of the equator
sheet-month-day-taken = { $span }: the 15th is taken, { DAY($day) }
sheet-no-such-month = there is no such month, and it is no span of years; mend it
sheet-no-such-day = there is no such day; mend it
sheet-earlier-year = { YEAR($year) }, the earlier, to be careful
sheet-or-earlier = { YEAR($year) } or earlier: { YEAR($year) } is taken
sheet-harvest-span = { YEAR($year) }, { $span }
sheet-harvested = harvested { $when }
sheet-came = came here { $when }
sheet-to-sow-by = to be sown by { DAY($day) }
sheet-printed-germination = { DECIMALS($printed_pct) } % germination, taken as printed on its packet
sheet-no-percentage = no germination is below 0 or above 100 %
sheet-printed-test = tested { ROUGH_DAY($rough_day) }
sheet-packed = packed { ROUGH_DAY($rough_day) }
sheet-packed-for = packed for the season of { $year }
sheet-seed-form = { seed-form }
sheet-thousand-seeds = a thousand of them weigh { DECIMALS($weight_g, 3) } g
sheet-no-thousand-seed-weight = a thousand seeds weigh more than 0 and at most 100,000 g
sheet-generation = generation { $generation }
sheet-keepers = kept by { $choice ->
        [none] nobody else
        [few] few others
       *[many] many others
    }
sheet-treated = { $choice ->
        [yes] treated with a chemical
       *[no] not treated
    }
sheet-came-before-harvest = it came here before it was harvested

sheet-formula = this is a formula; write what it gives
sheet-say-what-seed = say what is in the packet
sheet-the-kind = the kind
sheet-kind-of-section = under the heading { $text }
sheet-kind-above = no kind is written; above it stands { $text }: is it of that kind too?
sheet-taken-as-kind = taken as { $kind }
sheet-kind-has-variety = { $kind }, which has a variety of this name here
sheet-kind-of-several = say which: { ONE_OF($kinds) }
sheet-kind-not-known = no kind is called { $text }; { $kinds ->
        [unknown] say what kind it is
       *[other] did you mean { ONE_OF($kinds) }?
    }
sheet-from = from { $text }
sheet-variety-not-named = not named
sheet-no-variety = no variety is written: { sheet-variety-not-named }
sheet-the-variety = { $kind ->
        [unknown] the variety { $variety }
       *[other] { $kind }, the variety { $variety }
    }
sheet-came-as = { $origin ->
        [self-saved] saved here
        [swapped] swapped
        [gift] a gift
        [collected] collected
       *[bought] bought
    }
sheet-assumed = { $assumed ->
        [yes] , taken to be { sheet-came-as }
       *[no] { "" }
    }
sheet-origin = it was { sheet-came-as }{ sheet-assumed }
sheet-donor = from { $donor }{ sheet-assumed }
sheet-origin-not-written = isn’t written{ sheet-assumed }
sheet-the-place = the place it is kept
sheet-kept-in-notes = kept in the lot’s notes
sheet-row-noted = From { $file }, line { $line }, as it was written:
sheet-row-over-notes = the row and its headings are longer than notes can be, { $most }
sheet-like-lots = Of this variety and year { $lots ->
        [one] lot { $lot } is
       *[other] { COUNT($lots) } lots, { $lot } the first, are
    } here already: is this another packet?

sheet-sum = { $rows ->
        [one] { COUNT($rows) } row
       *[other] { COUNT($rows) } rows
    }: { $new ->
        [0] no lot
        [one] { COUNT($new) } lot
       *[other] { COUNT($new) } lots
    } would be made{ $in_the_way ->
        [0] {""}
       *[other] {", "}{ COUNT($in_the_way) } to be answered or mended first
    }{ $before ->
        [0] {""}
       *[other] {", "}{ COUNT($before) } here already
    }{ $left_out ->
        [0] {""}
       *[other] {", "}{ COUNT($left_out) } left out
    }.

# What seedbank import prints of a sheet.

sheet-rows-more = And { COUNT($rows) } more; --json shows every row.
sheet-lot-made = Lot { $lot }, line { $line }: { $made }
sheet-line-taken-before = Line { $line } was taken in before, as lot { $lot }.
sheet-taken-in = Taken in: { $lots ->
        [one] 1 lot
       *[other] { COUNT($lots) } lots
    }.
sheet-as-read = { $file }, as it was read. Nothing is taken in yet.
sheet-heading = { $choice ->
        [columns] Columns
        [rows] Rows
        [questions] To be answered
       *[sources] What estimates rest on
    }
sheet-row = Line { $line }: { $lot }{ $state ->
        [before] { " " }– taken in before, as lot { $as_lot }
        [in-the-way] { " " }– can't be taken in yet
        [left-out] { " " }– left out
       *[new] { "" }
    }
sheet-lot = { $variety } ({ $kind ->
        [unknown] no kind
       *[other] { $kind }
    }), { $seeds ->
        [unknown] { $weight_g ->
            [unknown] some, not counted
           *[other] { $weight_g } g
        }
       *[other] { seeds-counted }
    }{ $seeds_se ->
        [unknown] { "" }
       *[other] { " " }(give or take { $seeds_se })
    }{ $year ->
        [unknown] { "" }
       *[other] , harvest of { YEAR($year) }{ $sure ->
            [guess] ?
           *[sure] { "" }
        }
    }
sheet-next-step = { $in_the_way ->
        [0] { $lots ->
            [0] There is nothing new.
            [one] Add --yes to take in 1 lot.
           *[other] Add --yes to take in { COUNT($lots) } lots.
        }
        [one] 1 row has to be answered, mended or left out first.
       *[other] { COUNT($in_the_way) } rows have to be answered, mended or left out first.
    }
sheet-answer = { ONE_OF($options) }
sheet-answer-kind = --kind WORDS=KIND

# Archives (interchange.folder), and the cells of their files.

archive-damaged = the archive is damaged ({ $fault }); copy it again
archive-packed-oddly = it is packed in a way no export is ({ $fault })
archive-too-large = bring an archive of at most { $most } bytes
archive-no-zip = bring a zip archive that seedbank export wrote
archive-too-many-files = it lists { $files } files; an export has at most { $most }
archive-stray-file = no export has a file of that name; take it out
archive-no-such-file = its row names { $named }, which isn't in the archive; export it again
archive-no-photo = it is no photograph as an export holds them; export it again
archive-no-manifest = { $file } is missing; bring the archive as seedbank export wrote it
archive-file-twice = the archive holds it twice; keep one
archive-unpacks-too-large = unpacked it says to be over { $most } bytes, which is too much
archive-encrypted = it is encrypted; unlock the archive first
archive-no-deflate = it is packed in a way no export is; pack it with deflate
archive-unpacks-too-far = it unpacks to over { $ratio } times its size
manifest-misread = it isn't a manifest as seedbank export writes it
manifest-of-another-format = its format must be { $format }
archive-newer = a newer seedbank wrote this archive; install that one first
archive-file-missing = it is listed in the manifest but missing; export the collection again
archive-file-not-listed = it is not in the manifest; export the collection again
manifest-file-twice = it lists a file twice
archive-size-differs = its size differs from the manifest: it was changed since
manifest-table-unlike = { $file } can't hold the table '{ $table }'
archive-unbalanced = the movements of lot { $lot } don't add up
archive-rows-differ = it has { $rows } rows, the manifest says { $listed }
archive-row-refused = it can't stand beside the others ({ $why })
archive-no-such-column = there is no column '{ $column }', or twice
column-missing = add the column '{ $column }'
archive-line-unlike = the heading has { $columns } columns and this line { $cells }
archive-changed-since = it was changed since it was exported; export it again
cell-empty = Fill this in.
write-one-of = Write one of { $choices }.
cell-no-whole-number = Write a whole number.
cell-no-number = Write a number, with a point for decimals.
cell-no-yes-or-no = Write yes or no.
cell-no-moment = Write the moment like 2026-04-19T08:30:00Z.
cell-no-file = Write the name of a file beside this one, like { $example }.
cell-no-json-list = Write a JSON list of objects, or of numbers.
exported = Written to { $file }, { COUNT($bytes) } bytes:
taking-in = { $choice ->
        [archive] Taking in the archive
        [reading] Reading the list
        [list] Taking in the list
       *[folder] Taking in the collection
    }
archive-taken-in = Taken in from { $file }, exported { $made }:
archive-could-be-taken-in = Could be taken in from { $file }, exported { $made }:
folder-taken-in = Taken in from { $folder }:
folder-could-be-taken-in = Could be taken in from { $folder }:

# Passport descriptors: what a value must be, and remarks in a record (interchange.descriptors).

descriptor-date-misread = Write the date as YYYYMMDD, with hyphens for a day or month not known.
descriptor-day-without-month = A day without its month means nothing: write ---- for both.
descriptor-no-such-day = No calendar has that day; write it as YYYYMMDD.
descriptor-number = Write a number between { $least } and { $most }.
descriptor-degrees = Write { $digits } digits of degrees, 2 of minutes, 2 of seconds and { ONE_OF($ends) },
    with hyphens for what isn't known.
descriptor-other-number = Write INSTCODE:identifier, or :identifier where the institute is unknown.
descriptor-institute = Write the WIEWS code, three letters and a number.
descriptor-genus = Write the genus with a capital, in one word.
descriptor-epithet = Write the epithet in small letters, or sp.
descriptor-country = Write the country's three-letter ISO 3166-1 code.
descriptors-no-csv = save the file as CSV in UTF-8 ({ $fault })
descriptors-heading = head each column with one of the standard's field names, not '{ $field }'
descriptors-too-many = bring 1 to { $most } records at a time
descriptors-noted = As its passport descriptors say:
another-keeper = another keeper
descriptors-ancestry = raised from { $lots }
remark-harvest = ACQDATE:seed harvested { $harvest }{ $sure ->
        [estimated] , estimated
       *[sure] { "" }
    }
remark-f1 = SAMPSTAT:F1 hybrid, not known to be first-generation seed
remark-may-have-crossed = ACCENAME:may have crossed { $note }
remark-seed-parents = ANCEST:seed of { $plants } plants
remark-isolation = ANCEST:isolation { $way }
remark-treated = STORAGE:the seed carries a chemical treatment
remark-seed-form = STORAGE:the seed is { seed-form }
remark-printed = STORAGE:{ DECIMALS($printed_pct) } % germination printed on the packet{ $rough_day ->
        [unknown] { "" }
       *[other] , tested { $rough_day }
    }
remark-tested = STORAGE:{ $normal } of { $judged } seeds germinated in a test begun { DAY($begun) }
records-could-be-taken-in = Could be taken in from { $file }: { $lots } lots, nothing was kept.
record-lot-made = Lot { $lot }: { $variety } ({ $kind }){ $named ->
        [yes] , from { $donor }
       *[no] , from another keeper
    }
descriptor-codes = Use one of the codes { $codes }.

# What to mend in a folder of files written by hand (seedbank.interchange.folder).

folder-quotes-open = save the file as comma-separated CSV, every quote closed ({ $fault })
folder-line-too-long = a line may hold { COUNT($most) } bytes, this one holds more
folder-lines-too-many = a file may hold { COUNT($most) } lines; bring it in parts
folder-file-too-large = a file may hold { COUNT($most) } bytes; bring it in parts
folder-no-utf-8 = save the file as CSV in UTF-8
folder-nul = a NUL stands here, so it is no CSV in UTF-8; save the file as that
folder-no-file = put at least one of { $files } there
folder-stray-file = take it out; a collection's files are { $files }
folder-columns-too-many = there are { $number } columns; { folder-columns }
folder-no-header = begin with a header; { folder-columns }
folder-column-unknown = there is no column { $name }; { folder-columns }
folder-columns = use { $columns }
folder-column-twice = keep only one column { $name }
folder-column-missing = add the column { $name }
folder-cells-beyond = the header has { $columns } columns; put text with commas in double quotes
folder-cell-too-long = a cell holds at most { $most } characters, this one { $characters }
folder-formula = write what the formula gives
folder-cell-empty = fill this in
folder-yes-or-no = write yes or no
folder-at-least-one = write at least one, separated by semicolons
folder-movement-of-test = write it in tests.csv, which takes its seed out of the lot
folder-name-twice = { $choice ->
        [lot] give each lot a label of its own
        [test] give each test a name of its own
       *[sowing] give each sowing a name of its own
    }
folder-all-imported = nothing to do: all { $lots } lots were imported before
folder-lot-imported = leave the line out: it was imported before, as lot { $lot }
folder-place-twice = keep one place for a lot on a day
folder-test-unknown = name a test that is in tests.csv
folder-replicates = the test has { $replicates } replicates
folder-or-later = write { DAY($day) } or later
folder-code-taken = leave the line out: the stock has a lot with this code already
folder-why-corrected = say why this line corrects the one before
folder-corrects-nothing = leave it empty: no line before counts this replicate that day
folder-count-twice = keep one count of a sowing on a day
folder-day-to-come = write a day up to { DAY($today) }
folder-add-this = add this { folder-thing } to { $file }
folder-thing = { $choice ->
        [place] place
        [site] site
        [gear] gear
        [climate] garden or site
       *[sowing] sowing
    }
folder-distance-twice = another line says { METRES($distance_m) }; write one distance
folder-kind-unknown = { $close ->
        [unknown] add the kind in { $file }
       *[other] write one of { $close }, or add the kind in { $file }
    }
folder-lot-unknown = name a lot by its label in { $file } or by its code
folder-variety-unknown = add this variety of { $kind } to { $file }
folder-kind-of-several = say which: { $kinds }
folder-kind-no-letters = name it in Latin letters or digits
folder-fact-twice = leave this line out: it is { $fact } already
folder-line-twice = { $choice ->
        [variety] keep one line for each variety of a kind
       *[other] keep one line for each { folder-thing }
    }

archive-or-workbook = It isn't said what to write.
    .mend = Name a new archive, like all.zip, or a workbook: --workbook seed.xlsx.
