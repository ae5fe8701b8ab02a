# What the room upkeep says.

collection-exists = There is a collection in { $where } already.
    .mend = Restore to another place, or with --replace: what is there is backed up first.
open-elsewhere = { $value } is open elsewhere ({ $why }).
    .mend = Stop the seedbank that serves it, then restore again.
leftover-of-collection = { $left } is left over from a collection that is gone.
    .mend = Move it to another folder, or restore to another name.

backup-of-no-collection = There is no collection in it.
    .mend = Name a collection.
backup-not-writable = The backup can't be written to { $file }: { $refused }.
    .mend = Choose a place that has room and can be written to; no backup is written over.

no-sound-backup = { $value } is no sound backup. { $faults }
    .mend = Choose another backup; this one was left as it is, and so was the collection.
no-such-backup = Can't use the database '{ $value }'.
    .mend = Name a backup that is there.

no-such-folder = Can't use the database '{ $value }'.
    .mend = Make the folder { $folder } first, or name another.
no-room-for-copy = Can't use the database '{ $value }'.
    .mend = Make room for a copy of it beside it, and try again; it was left as it is ({ $why }).
copy-damaged = SQLite finds it damaged: { $sound }
copy-lacks-table = the table { $table } is on one side only
copy-table-unlike = { $table }: { COUNT($there) } rows there, { COUNT($here) } here, unlike

# What is proved of a collection: the claim, what it is tried on, and of what breaks it.

check-judged-over-set = Test { $test_id }, replicate { $number }: { $judged } seeds are judged, { $seeds_set } were set.
    .claim = no more seeds are judged in a replicate than were set
    .things = replicates
check-finished-unjudged = Test { $test_id } is finished, but in replicate { $number } only { $judged } of { $seeds_set } seeds are judged.
    .claim = every seed of a finished test is judged
    .things = replicates
check-test-totals = Test { $id } says { $normal_seeds } normal and { $viable_seeds } viable of { $judged_seeds }; { $normal } and { $viable } of { $judged } were counted.
    .claim = what a finished test says of its seeds is what was counted
    .things = tests
check-count-stands = Replicate id { $replicate_id }, { DAY($on_date) }: { $stand } counts stand, or not the last.
    .claim = of each day's counts the last correction stands, and it alone
    .things = counts
check-emerged-over-sown = Sowing { $id }: { $up } came up, { $lost } were lost before and { $eaten } after, but { $seeds_sown } were sown.
    .claim = no more seeds came up or were lost than were sown
    .things = sowings
check-harvest-year = Lot { $code } was harvested in two years, or its weight has an error and no value.
    .claim = each lot's harvest is of one year, and an error goes with a weight
    .things = lots
check-came-after-harvest = Lot { $code } came here on { DAY($acquired_on) } and was harvested later, { $harvested }.
    .claim = no lot came here before it was harvested
    .things = lots
check-answer-whole = The answer kept under the key '{ $key }' is not whole (status { $status }).
    .claim = every answer kept for a repeated request is whole
    .things = answers
check-balance = Lot { $code }, movement { $serial } (id { $id }) says { $balance_seeds } seeds are left; the movements add up to { $summed }.
    .claim = every balance is the sum of the lot's movements up to it
    .things = movements
check-balance-known = Lot { $code }, movement { $serial } (id { $id }) says what is left is { $balance_seeds ->
        [unknown] not counted
       *[other] { $balance_seeds }
    }, which doesn't follow from what came in and was counted.
    .claim = an amount isn't known while uncounted seed is there, and is known else
    .things = movements
check-movements-numbered = Lot { $code }: its movement in place { $place } (id { $id }) bears the number { $serial }.
    .claim = each lot's movements are numbered 1, 2, 3 and so on, none missing
    .things = movements
check-never-below-nothing = Lot { $code } falls to { $summed } seeds with its movement { $serial } (id { $id }).
    .claim = no lot ever held less than nothing
    .things = movements
check-seed-direction = Lot { $code }, movement { $serial } (id { $id }): { $seeds } seeds are booked as { $reason }.
    .claim = seed acquired or harvested comes in, seed used goes out
    .things = movements
check-undoing-earlier = Lot { $code }, movement { $serial } (id { $id }) undoes movement id { $reverses_id }, which isn't an earlier movement of that lot that can be undone.
    .claim = each undoing undoes an earlier movement of its own lot
    .things = undoings
check-undoing-cancels = Lot { $code }, movement { $serial } (id { $id }) moves { $seeds } seeds to undo a movement of { $other_seeds } seeds.
    .claim = each undoing cancels the seeds of what it undoes
    .things = undoings
check-undone-once = The movement with id { $reverses_id } is undone { $times } times.
    .claim = no movement is undone twice
    .things = undoings
check-seed-tested = Test { $id } of lot { $code } used { $used } seeds; its movement (id { $movement_id }) books { $seeds }
    as { $reason }, or of another lot.
    .claim = the seed of each test left its own lot, and as much of it
    .things = tests
check-seed-sown = Sowing { $id } of lot { $code } used { $used } seeds; its movement (id { $movement_id }) books { $seeds }
    as { $reason }, or of another lot.
    .claim = the seed of each sowing left its own lot, and as much of it
    .things = sowings
check-lot-code = Lot id { $id } has the code '{ $code }', which no label can be read as.
    .claim = every lot's code is right by its check character
    .things = lots
check-descent = Lot id { $id } descends from itself, or from a lot that does.
    .claim = no lot descends from itself
    .things = parents
check-words = { $table } { $doc } ({ $named }) isn't found by its words as they are: drop the table
    { $table }_words and start seedbank, which makes it anew.
    .claim = each { $table } is found by its words as they are
    .things = rows of { $table }
check-schema =
    .claim = the schema is { $head }
    .things = schema
check-schema-older = The database has schema { $found ->
        [unknown] None
       *[other] '{ $found }'
    }, this seedbank works on '{ $head }': start it once on the database to bring it up to date.
check-schema-newer = The database has schema '{ $found }', which this seedbank doesn't know: install the newer one.
check-columns =
    .claim = the schema is { $head }, with every column
    .things = tables
check-table-missing = The table { $table } is missing.
check-column-missing = The table { $table } lacks its column { $column }.
check-file = SQLite finds the file damaged: { $fault }.
    .claim = the file is sound: its pages, indexes and tables agree
    .things = pages
check-unreadable = The database can't be read: { $why }.
    .claim = the file can be read
    .things = file
check-link = { $table } { $row }: its { $column } { $value } is not among the { $parent } rows.
    .claim = each { $table }'s { $column } is there
    .things = rows of { $table }
check-values = { $table } { $row }: its { $wrong } can't be right.
    .claim = every value of { $table } is of its kind and within its bounds
    .things = rows of { $table }
check-rule = { $table } { $row } breaks its rule { $rule }.
    .claim = { $table }: { $rule }
    .things = rows of { $table }
check-unique = { $table }: { $times } rows share { $names } { $row }.
    .claim = no two of { $table } share { $names }{ $where ->
        [always] { "" }
       *[other] { " " }where { $where }
    }
    .things = rows of { $table }
check-more = … and { COUNT($more) } more of which it isn't true that { $claim }.
check-part = { $choice ->
        [file] file
        [schema] schema
        [ledger] ledger
        [counts] tests, sowings and answers
        [lots] lots
        [references] references
        [rules] rules
       *[words] words
    }
check-part-holds = { $whole } of { $claims } { check-part }, tried on every row
check-rows-in-all = { COUNT($rows) } rows in all
check-all-holds = All { $claims } claims hold.

backed-up = Backed up to { $file }: { backup-size }.
backup-size = { COUNT($rows) } rows of { $tables } tables, { DECIMALS($mb) } MB
backup-compared = It has the older schema { $revision }, so it was compared, not checked.
backup-checked = It is the same as the collection, and its { $claims } claims hold.
backup-faulty = The collection has faults, and so has its backup:
replaced-backed-up = What was there is backed up in { $file }: { backup-size }.
damaged-set-aside = What was there is damaged; it is kept as it is in { $file }.
restored = Restored from { $file }: { COUNT($rows) } rows of { $tables } tables, the same as in the backup.
