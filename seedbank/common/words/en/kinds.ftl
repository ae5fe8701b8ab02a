# What the room kinds says.

variety-name-taken = This kind already has a variety called { $variety }.
    .mend = Use that variety, or give this one a name that tells them apart.
variety-in-use = Variety { $variety } still has lots, seed crops, flowerings or pins.
    .mend = File its lots under another variety first; a lot with seed is never dropped.

kind-name-taken = There already is a kind { $slug }.
    .mend = Use that kind and state your own facts about it, or choose another slug.
kind-in-use = Varieties or flowerings belong to kind { $kind }.
    .mend = Take those out first.
packaged-kind-fixed = Kind { $kind } came with the program and can't be { $done }.
    .mend = State facts of your own about it, or add a kind of your own.

fact-misread = { $name }: “{ $value }” can't be used.
    .mend = { $mend }
own-fact-number = Give a number from { $low } to { $high } ({ own-fact-unit }).
own-fact-range = Give a number or a range such as 2-3, from { $low } to { $high } ({ own-fact-unit }).
own-fact-whole = Give a whole number from { $low } to { $high } ({ own-fact-unit }).
own-fact-unit = { $unit ->
        [years] years
        [days] days
        [seedlings] seedlings
        [plants] plants
       *[other] { $unit }
    }
own-fact-choice = Give one of: { $words }.
own-fact-botanical = Give a botanical name.
own-fact-crossing-group = Give a name for what it crosses with.
own-fact-temperature = Give degrees C from 0 to 45, or night-day such as 20-30.
own-fact-name = name one of: { $words }
own-fact-source = say where the value comes from
own-fact-order = { $lower } { $low } is over { $upper } { $high }
fact-told-with-kind = the gardener, when the kind was added
fact-told-twice = { $value } is told twice.
    .mend = Tell each fact once; what is kept, how long and poisonous have fields of their own.
slug-not-made = No short name for addresses can be made of { $value }.
    .mend = Give one of your own, of small letters a to z, figures and hyphens.

# The command `kind`.
kind-added = Kind { $name } is added, as { $slug }. Take in a packet of it: its kind is { $name }.

# The command `rarity`.
rarity-told = That is kept of { $varieties ->
        [one] 1 variety
       *[other] { COUNT($varieties) } varieties
    }.
rarity-untold = { $varieties ->
        [0] It is on record of every variety how many others keep it.
       *[other] Of these { $more ->
            [yes] and more{ " " }
           *[no] { "" }
        }nobody has said how many others keep them. Name them by number: --none 3 --few 7 --many 12
    }

variety-season = { $choice ->
        [early] early
        [summer] summer
       *[winter] winter, or to keep
    }
kept-as = { $choice ->
       *[seed] seed
        [tubers] tubers
        [cloves] cloves
        [bulbs] bulbs or sets
        [bulbils] bulbils
        [crowns] crowns
        [offsets] offsets
        [cuttings] cuttings
    }
fact = { $choice ->
       *[botanical] Botanical name
        [crossing_group] What it crosses with
        [life_cycle] Annual, biennial or perennial
        [mating] Selfing, mixed or outcrossing
        [storage_class] Orthodox, recalcitrant or unlisted in store
        [minimum_germination_pct] Legal minimum germination, %
        [first_count_days] First count of a germination test, days
        [final_count_days] Last count, days
        [test_temperature_c] Temperature of a germination test, °C
        [half_viability_years] Years until half its seed is dead
        [thousand_seed_weight_g] Weight of a thousand seeds, g
        [seedlings_per_unit] Seedlings from one seed or cluster
        [depth_cm] Depth of sowing, cm
        [in_row_cm] Spacing in the row, cm
        [row_cm] Between rows, cm
        [soil_min_c] Least warmth of the soil, °C
        [soil_opt_c] Best warmth of the soil, °C
        [isolation_home_m] Isolation in a garden, m
        [isolation_strict_m] Strict isolation, m
        [seed_parents_maintain] Seed parents to maintain it
        [seed_parents_rare] Seed parents if it is rare
    }

kind-name-of-several = More than one kind is called { $name }.
    .mend = Write { $slugs }.
no-kind-called-perhaps = No kind is called { $value }.
    .mend = Perhaps { $near }?
no-kind-called = No kind is called { $value }.
    .mend = Choose one of the list.

# What commands tell of kinds and varieties.
kind-heading = { $kind } ({ $slug })
variety-told = Variety { $number }, { $variety }, is { $choice ->
        [added] added
       *[changed] changed
    }.
variety-crosses = It crosses with
