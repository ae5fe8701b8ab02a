# Words every room uses.

chance = { $edge ->
        [low] under 1 %
        [high] over 99 %
       *[none] { $pct } %
    }
chance-brief = { $edge ->
        [low] <1 %
        [high] >99 %
       *[none] { $pct } %
    }
chance-in-table = { BRIEF_CHANCE($chance) }
chance-in-words = { CHANCE($chance) }
percent-in-table = { PERCENT($pct) } ({ COUNT($low_pct) } to { COUNT($high_pct) })
age-in-years = { DECIMALS($years) } years
age-in-months = { $months ->
        [0] under a month
        [one] 1 month
       *[other] { COUNT($months) } months
    }
chance-about = { $edge ->
        [low] under 1 %
        [high] over 99 %
       *[none] about { $pct } %
    }
days = { $days ->
        [one] 1 day
       *[other] { COUNT($days) } days
    }

seeds-counted = { $seeds ->
        [one] 1 seed
       *[other] { COUNT($seeds) } seeds
    }
as-said = { $text }
no-lots-yet = The collection holds no lots yet.
no-lots-begin = Bring in a list you keep (seedbank import MY-LIST.csv, or the page /import), or take in a packet (the page /take-in). To look at an invented collection first: seedbank demo.

heading-cautions = Take care
heading-sources = Sources
column = { $name ->
        [isolate-by] isolate by
        [lost] lost?
        [if-skipped] if skipped
        [in-a-year] in a year
        [final-count-due] final count due
        [nothing-booked] nothing was booked
        [on-record-as-come] on record as come
        [variety] variety
        [lot] lot
        [lots] lots
        [kind] kind
        [kept-in] kept in
        [state] what to do
        [keepers] keepers
        [sow] sow
        [crop] crop
        [crop-ready] ready
        [keep-apart] keep apart
        [ripe] seed ripe
        [flowers] flowers
        [from] from
        [held] held
        [spare] spare
        [plants] plants
        [seeds] seeds
        [enough] enough
        [do] do
        [chance] chance
        [set] set
        [why] why
        [alive] alive
        [what-holds] what holds
        [of] of
        [broken] broken
        [number] number
        [date] date
        [what] what
        [note] note
        [left] left
        [amount] amount
        [origin] origin
        [donor] from
        [harvested] harvested
        [notes] notes
        [place] place
        [name] name
        [started] started
        [finished] finished
        [unjudged] not judged yet
        [germination] germinated
        [method] how
        [sown] sown
        [up] up
        [stage] stage
        [year] year
        [site] site
        [result] harvested as
        [winter] winter
        [summer] summer
        [humidity] humidity
        [sealed] sealed
        [breeding] bred
        [slug] short name
        [due] due
        [value] value
        [source] source
        [normal] normal
        [until] until
       *[other] { $name }
    }
yes-or-no = { $choice ->
        [yes] yes
       *[no] no
    }
listed-in-all = { $things ->
        [0] There are none.
        [one] 1 in all.
       *[other] { COUNT($things) } in all.
    }
keepers-number = { $keepers ->
        [none] none
        [few] few
       *[many] many
    }
isolation-way = { $way ->
        [distance] distance
        [time] time
        [cage] cage
        [bag] bag
        [hand-pollination] hand pollination
        [only-variety] only variety in flower
        [none] none
       *[unknown] unknown
    }


still-to-come = { $field } is still to come.
    .mend = Give today ({ DAY($today) }) or an earlier day.

# What a change or a question is refused for (common.errors).

# A field as a gardener calls it; a client knows it by its path.
field-named = { $choice ->
        [on_date] The day
        [from_date] The day
        [acquired_on] The day it came here
       *[other] { $words }
    }
tick-it-is-so = { $doubt } If it is so, press “Yes, so it was”.
say-it-is-so = { $doubt } If it is so, say --yes.
cannot-be = { $field } can't be { $value }.
no-collection = Can't use the database '{ $value }': there is no collection there.
    .mend = Name the one it is in with --database or SEEDBANK_DATABASE_URL; to begin one here: seedbank lot add, import, serve or demo.
newer-database = The database has schema '{ $value }', which this seedbank does not know.
    .mend = Install the newer seedbank that last opened this database.
copy-differs = The copy '{ $value }' is not like its original ({ $why }).
    .mend = Try again; if it stays so, the disk may be failing.
missing = There is no { thing } { $key }.
    .mend = Choose a { thing } that is in the stock.
misread-code = Code { $key }: { $why }.
    .mend = Read the code on the packet again.
circular-parents = Lot { $lot_id } can't have lot { $value } for a parent: it would descend from itself.
    .mend = Choose parents that don't descend from this lot.
already-counted = Replicate { $replicate } is already counted on { DAY($value) }.
    .mend = Correct that day's count, or give another day.
too-many-counted = Replicate { $replicate } has { COUNT($seeds_set) } seeds set, { COUNT($value) } would be judged.
    .mend = Judge { COUNT($seeds_set) } seeds at most over all days, or correct an earlier count.
seeds-unjudged = { COUNT($missing) } { $missing ->
        [one] seed of replicate { $value } is
       *[other] seeds of replicate { $value } are
    } not judged yet.
    .mend = Count the rest: fresh, hard or dead if they haven't germinated.
test-finished = Test { $value } was finished on { DAY($on) }.
    .mend = Correct one of its counts, or start a new test.
too-many-emerged = { COUNT($emerged) } emerged and { COUNT($lost) } lost before they came up, but { COUNT($sown) } were sown.
    .mend = Count units, not seedlings, and each only once.
fewer-emerged = { COUNT($value) } emerged by { DAY($on) } doesn't fit { COUNT($other_units) } by { DAY($other_day) }.
    .mend = { $other ->
        [later] Correct the later count first.
       *[earlier] Count all that ever came up, or mark the count as a correction.
    }
overdrawn = Lot { $lot_id } holds { COUNT($held) } seeds, { COUNT($value) } asked.
    .mend = Take at most { COUNT($held) } seeds, or book a stock-take if the packet holds more.
not-there = There is no { thing } { $key }.
    .mend = Use one that is listed, or add the { thing } first.
not-enough-seed = Lot { $lot } holds { COUNT($held) } seeds, so { COUNT($value) } can't be taken.
    .mend = { $held ->
        [0] Take stock first if the packet isn't really empty.
       *[other] Take { COUNT($held) } or fewer, or take stock first if the packet really holds more.
    }
stale-version = This { thing } was changed since you read it: it is now at version { $current }.
    .mend = Read it again, see what changed, and send your change with the new ETag.
key-reused = This idempotency key was already used for a different request.
    .mend = Use a fresh key for every new request; repeat a key only to repeat a request.
busy = Too many are asking at once for what takes long to work out. Nothing was changed.
    .mend = Wait a few seconds and ask again; what has been worked out is kept.
still-answering = Another request is still being written, perhaps an earlier copy of this one.
    .mend = Wait a second and send the same request with the same key again.

comes-before = { $field } comes before { DAY($first) }.


# What is wrong with a value that can't be read, by pydantic's name of the error (docs.pydantic.dev).

limit-greater-than = Give more than { $gt }.
limit-greater-than-equal = Give { $ge } or more.
limit-less-than = Give less than { $lt }.
limit-less-than-equal = Give { $le } or less.
limit-string-too-short = Write text at least { $min_length } characters long.
limit-string-too-long = Write text at most { $max_length } characters long.
limit-too-short = Give at least { $min_length }.
limit-too-long = Give at most { $max_length }.
limit-enum = Use one of { $expected }.
limit-literal-error = Use one of { $expected }.
limit-string-pattern-mismatch = Write it to the pattern { $pattern }.
limit-missing = This has to be given.
limit-extra-forbidden = There is no such field; check its spelling or leave it out.
limit-int-type = Give a whole number.
limit-int-from-float = Give a whole number.
limit-int-parsing = Give a whole number.
limit-float-type = Give a number.
limit-float-parsing = Give a number.
limit-finite-number = Give a finite number.
limit-bool-type = Give true or false.
limit-bool-parsing = Give true or false.
limit-string-type = Write text in quotes.
limit-string-unicode = Write text in valid Unicode.
limit-list-type = Give a list.
limit-dict-type = Give an object: names and their values.
limit-model-attributes-type = Give an object with named fields.
limit-json-invalid = Send valid JSON.
limit-name-itself = Of the name itself: { $limit }
limit-no-json = Send the body as JSON, with the header Content-Type: application/json.

# Who decides where a caution says no more than a list can.

qualified-people-decide = A doctor or poison centre decides, not this list: ask them at once.
local-rules-decide = Local rules decide: ask your plant health or seed authority before you act.

# Values that don't go together (forms).

date-misread = Write the date as year-month-day, like 2026-04-19.
rough-date-misread = Write the day as 2026-04-19, the month as 2026-04, or the year as 2026.
one-line = Write it on one line, without control characters.
no-control-characters = Leave out control characters.

# Amounts and rates by themselves (common.local_format).

per-metre = { RATE($number) } a metre
per-foot = { RATE($number) } a foot
per-square-metre = { RATE($number) } a square metre
per-square-foot = { RATE($number) } a square foot

# What something is called that isn't there, or was changed.

thing = { $what ->
        [distance-to-site] distance to site
        [fact-of-your-own] fact of your own
        [flowering-window-of-your-own] flowering window of your own
        [flowering-window] flowering window
        [flowering] flowering
        [climate] climate
        [gear] gear
        [germination-test] germination test
        [isolation-gear] isolation gear
        [job] job of this week
        [kind] kind
        [list-of-limits] list of limits
        [list] list
        [lot] lot
        [movement] movement
        [photograph] photograph
        [picture] picture
        [pin] pin
        [place] place
        [plan-pin] plan pin
        [planned-seed-crop] planned seed crop
        [replicate] replicate
        [saving-plan] saving plan
        [seed-crop] seed crop
        [site] site
        [sowing] sowing
        [token] token
        [type-of-problem] type of problem
        [variety] variety
        [count] count
       *[thing] thing
    }
