# Words every room uses.

chance = { $edge ->
        [low] under 1 %
        [high] over 99 %
       *[none] { $pct } %
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
        [variety] variety
        [lot] lot
        [lots] lots
        [keepers] keepers
        [sow] sow
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
       *[other] { $name }
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
        [only-variety] only variety
        [none] none
       *[unknown] unknown
    }
