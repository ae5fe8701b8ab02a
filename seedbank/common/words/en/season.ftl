# What needs doing: lists, days to come and the year at a glance (seedbank.season).

save-working = Judging every lot
save-heading = Save seed, the rarest first
save-heading-lot = { $variety }, lot { $lot }
save-lot = Alive: { $alive }. { COUNT($parents) } seed parents wanted; flowers in { YEAR($year) }{ $at_earliest ->
        [yes] { " " }at the earliest
       *[no] { "" }
    }.
alive = { $median_pct ->
        [unknown] not known
       *[other] { PERCENT($median_pct) } ({ COUNT($low_pct) } to { COUNT($high_pct) })
    }
to-sow = { $sow ->
        [sown] sown
        [all] all
       *[seeds] { COUNT($seeds) }
    }
rescue-or-save = { $verdict ->
        [rescue] rescue
       *[save-seed] save
    }
and-more = and { COUNT($more) } more

year-heading = What needs doing in { YEAR($year) } (as of { DAY($on) })
year-heading-counts = Towels to look at: a count is due
year-heading-test = Test before relying on them ({ COUNT($lots) })
year-heading-replace = Replace ({ COUNT($lots) })
year-heading-discard = May go (better seed of the variety is kept, or it is common) ({ COUNT($lots) })
year-others-stay = The other { COUNT($lots) } lots with seed in them can stay as they are.

# What the room season says.

paper-choose = { cannot-be }
    .mend = Choose { $join }.
