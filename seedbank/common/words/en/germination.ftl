# Whether a test is worth its seed (science.testing.test_plan).

test-decides-reliance = A test helps to decide whether this lot can be relied on for another season.
worth-testing = Test { $seeds ->
        [one] one seed
       *[other] { COUNT($seeds) } seeds
    }: it is expected to save more than its seed is worth, and has a chance of { CHANCE($changes) } to change what you do.
right-now = { $action ->
        [rely] Relying on it for another season
       *[renew] Not relying on it
    }, what you would do now, is right with probability { CHANCE($right_now) }
sure-enough = { right-now }.
surer = { right-now }; after the test, { CHANCE($right_after) }.
nothing-to-learn = Don't spend seed: no result would change what you do.
no-seed-to-spare = Don't spend seed: none can be spared above the reserve for a test. When the lot is sown, sow all of it.
not-worth-its-seed = Don't test it: even the best test, of { COUNT($seeds) } seeds, is expected to save less than its seed and the trouble are worth.

# What a finished test says (science.germination.germination, evaluate_tests).

replicates-disagree = The replicates differ by { COUNT($range_points) } points, more than chance allows, so the interval is wider. Look for uneven moisture, mould, mixed seed or a miscount, and test again if seed allows.
replicates-disagree-on-viability = Counted with hard and fresh seed the replicates differ by more than chance allows, so the viability interval is wider.
replicates-uneven = The largest replicate speaks for most of the plain percentage though the others contradict it; go by the interval.
test-small = { $seeds ->
        [one] 1 seed leaves
       *[other] { COUNT($seeds) } seeds leave
    } germination uncertain by { COUNT($width_points) } points.
test-ended-early = It ended { $days ->
        [one] 1 day
       *[other] { COUNT($days) } days
    } before the last count the kind's method asks for ({ DAY($final_count_due) }): slow seed may have been missed, so the lot may be better than this.
replicates-tolerance = The replicates { $agree ->
        [yes] agree
       *[no] disagree
    }: { COUNT($range_points) } points apart, { COUNT($tolerated_points) } tolerated ({ $rule ->
        [exact-distribution] exact distribution
       *[published-tolerance] published tolerance
    }).
sold-seed-minimum = The minimum for seed sold is { PERCENT($minimum_pct) }; the chance that this lot reaches it is { CHANCE($probability_at_least) }.

# Dead or dormant, and what to do (science.germination.dormancy).

hard-seed = { COUNT($seeds) } of { COUNT($seeds_set) } seeds stayed hard: alive, but water did not get in.{ $on_record ->
        [yes] { "" }
       *[no] { " " }Hard seed is not on record for this kind: cut one to make sure it is sound.
    }
remedy-scarify = Nick or rub through the coat, away from the scar, and soak overnight before sowing.
remedy-scarify-again = Scarified already: go deeper on the seeds left, or leave them to soften wet.
fresh-seed = { COUNT($seeds) } of { COUNT($seeds_set) } seeds took up water, are sound and did not sprout.{ $worth_confirming ->
        [yes] { " " }That is enough to be worth confirming: cut a few and look for firm white tissue.
       *[no] { "" }
    }
remedy-wake = What may wake it: { $ways }.
either-temperature = { CELSIUS($at_c) }{ $or_c ->
        [unknown] { "" }
       *[other] { " " }or { CELSIUS($or_c) }
    }
wake-prechill = keeping the moist seed at { either-temperature }{ $days ->
        [unknown] { "" }
        [one] { " " }for a day
       *[other] { " " }for { COUNT($days) } days
    } before it is tested as usual
wake-nitrate = 0.2 % potassium nitrate (2 g in 1 L) in place of water
wake-light = light for at least 8 hours a day, seed on the surface
remedy-prechill = Keep the moist seed at { CELSIUS(5) } to { CELSIUS(10) } for 7 days, then test as usual.
remedy-store-dry = Every published remedy is used: store it dry for a month or two.
freshly-harvested = The seed was { $months_since_harvest ->
        [one] 1 month
       *[other] { DECIMALS($months_since_harvest) } months
    } from harvest; many kinds sleep at first.
remedy-after-ripen = Store it dry at room temperature until { COUNT($after_ripening_months) } months old and test again.
too-warm = At { CELSIUS($temp_c) } this kind { $surely ->
        [yes] is
       *[no] may be
    } put to sleep by heat (from { CELSIUS($heat_from_c) } up, surely above { CELSIUS($heat_sure_c) }).
remedy-cooler = Test and sow cooler, under { CELSIUS($heat_from_c) }; the first day counts most.
published-temperature = { $constant ->
        [yes] { CELSIUS($test_low_c) }
       *[no] { CELSIUS($test_low_c) } to { CELSIUS($test_high_c) }
    }
wrong-temperature = Tested at { CELSIUS($temp_c) }; the published test is at { published-temperature }.
remedy-published-temperature = Test again at { published-temperature }.
light-needed = Tested in the dark; this kind's published test is in light.
remedy-light = Test again on the surface, in light at least 8 hours a day, and sow shallow.
did-not-sprout = { COUNT($dead_seeds) } of the { COUNT($unsprouted_seeds) } seeds that did not sprout were dead
looks-dead = { did-not-sprout }: this looks like death, not dormancy.
looks-dormant = { did-not-sprout }, { COUNT($living_seeds) } alive: this looks like dormancy, not death.
dead-or-dormant-unclear = { did-not-sprout }: too few to tell death from dormancy.
remedy-none = Waking treatments won't bring them back, unless firm seeds were counted as dead.{ $conditions_off ->
        [yes] { " " }The conditions were off, so test again before giving the lot up.
       *[no] { "" }
    }
remedy-treat-and-test = Treat as above and test again before giving the lot up.
remedy-press-seeds = Press each seed left: soft or mouldy is dead, firm is alive; leave firm ones longer.

# How a test is best set (germination.propose_test).

no-test-pays = No test pays for its seed and the trouble. { $spare_seeds ->
        [unknown] How much there is was never counted.
        [0] None can be spared above what is kept in reserve.
       *[other] { COUNT($spare_seeds) } could be spared above what is kept in reserve.
    }
set-seeds = Set { $seeds ->
        [one] 1 seed
       *[other] { COUNT($seeds) } seeds
    }{ $replicates ->
        [one] { "" }
       *[other] { " " }in { COUNT($replicates) } replicates, so that a bad one shows
    }. { $fewer_would_do ->
        [yes] If you would rather keep seed, { COUNT($fewest_seeds) } is the fewest that still tells enough.
       *[no] Fewer would not tell enough to be worth their loss.
    }
substratum-published = { $on ->
        [B] between two blotters
        [TB] on top of a blotter
        [T] in a folded or rolled paper towel
        [S] in sand or a peat mix
        [TS] on the surface of sand or a mix
        [P] in a covered dish, on moist paper or sand
        [C] pressed half-way into cellulose wadding
        [TC] on cellulose wadding
        [RB] in a folded blotter whose lid doesn't touch the seed
        [TP] on top of paper
        [BP] between paper, rolled or pleated
       *[other] { $on }
    }
direction-light = Give light at least 8 hours a day, seed on the surface.
direction-nitrate = Moisten the first time with potassium nitrate, 2 g in a litre of water.
direction-nitrate-or-soil = Moisten with potassium nitrate, 2 g in a litre of water, or test in soil.
direction-wash = Rinse the seed under running water and blot it before it is set.
direction-scarify = Scrape or take off what covers the seed.
direction-dry-side = Keep it on the dry side: press the moist paper on dry paper first.
direction-air-dry = Let the seed dry in the air for { COUNT($hours) } hours first.
direction-very-wet = Keep the towel very wet.
direction-paper-toxicity = If the root tips are injured, test again in soil with plain water.
direction-calcium-nitrate = If the collars rot, test again with calcium nitrate, 0.3 to 0.6 %.
direction-ethylene = Treat it with ethephon or ethylene.
direction-flood = Add a little water above the seed, and pour it off after { COUNT($hours) } hours.
direction-soak = Soak it in water for { COUNT($hours) } hours first.
direction-temperature = { $preferred ->
        [yes] It is best tested at
       *[no] Test it at
    } { either-temperature }.
direction-prechill = Chill it moist { $at_c ->
        [unknown] in a refrigerator
       *[other] at { either-temperature }
    } for { $days ->
        [unknown] some days
        [one] a day
       *[other] { COUNT($days) } days
    } first; those days don't count.
direction-printed = { $printed }.

# Which count comes next (germination.show_tests).

count-due = { $count ->
        [finish] Every seed is judged: finish the test and read what it says.
        [any] Begun { $running_days ->
            [one] 1 day
           *[other] { COUNT($running_days) } days
        } ago; its kind has no set days: count what has come up.
        [first] Its first count { count-due-when }.
       *[final] Its final count { count-due-when }.
    }
count-due-when = { $when ->
        [late] was due { days } ago
        [today] is due today
       *[coming] is due in { days }
    }

# The command.

test-told = Test { $test } of lot { $lot }, { $variety }: { DAY($started_on) } to { $finished_on ->
        [unknown] now
       *[other] { DAY($finished_on) }
    }.{ $choice ->
        [none] { "" }
       *[other] { " " }It went wrong ({ test-fault }), so it tells only the least that was alive.
    }
heading-of-seeds = Of { $seeds ->
        [one] 1 seed
       *[other] { COUNT($seeds) } seeds
    }
heading-contradicting-tests = Two tests that can't both hold
heading-dormant-or-dead = Dormant or dead?
column-share = share ({ PERCENT($level_pct) } interval)
share-of-seeds = { $of ->
        [germination] germination
        [viability] viability
        [abnormal] abnormal
        [hard] hard
        [fresh] fresh
       *[dead] dead
    }

# What the room germination says.

replicates-without-seed = { cannot-be }
    .mend = Set 1 seed or more in each, 1 or more times.
count-before-test-began = { cannot-be }
    .mend = Count on { DAY($started_on) } or later.
test-without-replicates = { cannot-be }
    .mend = Set the replicates first.
finished-before-last-test-count = { cannot-be }
    .mend = Finish it on { DAY($last) } or later.
test-counted-already = { cannot-be }
    .mend = Start a new test: this one is counted.
seeds-below-nought = { cannot-be }
    .mend = Count 0 seeds or more.

outcome-missing = The outcome is missing.
    .mend = Say how many seeds were set and how many came up, like --set 50 --normal 41.
replicates-told-twice = { cannot-be }
    .mend = Give --rep, or --set with --normal, not both.
replicate-misread = { cannot-be }
    .mend = Write it like 25:20,1,0,0,4.

replicate-not-counted-then = Replicate { $replicate } was not counted on { $day }.
    .mend = Give a day on which it was counted; a new day's count is no correction.

count-differs-from-saved = A count of { DAY($day) } was saved before, and this one differs from it.
    .mend = Say in a few words what was wrong with it.

test-undoing-not-ticked = Not undone.
    .mend = Go back, and tick that the test is to be undone.

counted-before-set = The towel was set on { DAY($first) }.
    .mend = Choose that day or a later one.
counted-long-after = The last count was due { COUNT($days) } days before this one.
    .mend = Mend the day, or what was counted.

seedlings-at-once = { $seedlings ->
        [one] 1 seedling
       *[other] { COUNT($seedlings) } seedlings
    } on the day the seed was set. Nothing germinates that soon.
    .mend = Mend the day, or what was counted.

test-ends-first = { comes-before }
    .mend = A test ends on the day it starts or later; mend one of the two days.
count-days-disordered = { comes-before }
    .mend = Give days that follow one another: start, first count, final count.

judged-not-as-set = { COUNT($judged) } seeds are judged but { COUNT($seeds_set) } were set; they must add up.

# What a test is kept by (sowing.words).

test-substratum = { $choice ->
        [paper-towel] paper towel
        [blotter] blotter or filter paper
        [sand] sand
        [compost] compost
       *[other] something else
    }
test-pretreatment = { $choice ->
        [none] nothing
        [prechill] chilled moist
        [light] given light
        [scarify] nicked or rubbed
       *[soak] soaked
    }
test-fault = { $choice ->
        [too-cold] too cold
        [too-warm] too warm
        [dried-out] dried out
        [mould] mould
        [old-paper] old paper
       *[other] something else
    }
test-in-light = { $choice ->
        [true] in light
       *[false] in the dark
    }
seed-class = { $choice ->
        [seeds_set] Set
        [normal] Normal
        [abnormal] Abnormal
        [hard] Hard
        [fresh] Fresh
       *[dead] Dead
    }

# Notes that are kept.

rest-taken-as-dead = not judged by any count, taken as dead
seeds-taken-as-dead = { $seeds ->
        [one] 1 seed
       *[other] { COUNT($seeds) } seeds
    } { rest-taken-as-dead }.

# What commands tell of open tests, and take for the name of one.
test-open = Test { $test } of lot { $lot }, { $variety }: { $judged } of { COUNT($set) } seeds judged. { $final ->
        [none] No day is set for a count.
       *[other] { $first ->
            [none] { "" }
           *[other] First count { $first },
        } final count { $final }.
    }
test-undone = Test { $test } of lot { $lot } is taken back; its seed is in the packet again.
judged-misread = { cannot-be }
    .mend = Write it like 12,0,0,0,1: normal, abnormal, hard, fresh, dead.
