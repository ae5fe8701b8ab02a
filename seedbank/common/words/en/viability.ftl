# How alive a lot is: what that rests on, where it is weak (viability.show_viability).

viability-keeps-for = In an ordinary store { $kind } takes about { DECIMALS($years) } years to fall from 84 to 50 % alive ({ $evidence ->
        [0] as other kinds do: nothing is published on it here
       *[other] { $evidence ->
            [one] 1 sort
           *[other] { COUNT($evidence) } sorts
        } of published evidence on it, weighed { COUNT($own_share_pct) } to { COUNT($other_kinds_share_pct) } against what other kinds do
    }).
viability-recalled = Of the evidence on how long it keeps, { CHANCE($recalled_share) } was written from memory, not read in its source.
viability-rests-on-tests = It rests on { $tests ->
        [one] 1 finished test
       *[other] { COUNT($tests) } finished tests
    } of { COUNT($seeds) } seeds in all.
viability-tests-uneven = In { $tests ->
        [one] 1 test
       *[other] { COUNT($tests) } tests
    } the replicates disagreed, so their seeds count for less.
viability-tests-wrong = { $tests ->
        [one] 1 test went wrong, so it counts
       *[other] { COUNT($tests) } tests went wrong, so they count
    } as the least that was alive and no more.
tests-contradict = The tests of { DAY($first) } ({ COUNT($first_viable) } of { COUNT($first_seeds) } alive) and { DAY($second) } ({ COUNT($second_viable) } of { COUNT($second_seeds) }) contradict each other: good tests of one lot hardly ever lie so far apart. If both hold, { COUNT($low_pct) } to { COUNT($high_pct) } % is alive; if that of { DAY($failed) } failed (chance { CHANCE($failed_chance) }), { COUNT($failed_low_pct) } to { COUNT($failed_high_pct) } %. Advice goes by the lower. Test { COUNT($more_seeds) } seeds more, or say what went wrong with that test.
viability-never-tested = It was never tested{ $reckoned ->
        [yes] : the answer rests on its kind, source, age and store.
       *[no] .
    }
viability-bought = It was bought, so it is taken to have been near or above the least that may be sold.
viability-printed = The { DECIMALS($printed_pct) } % printed on its packet { $floor ->
        [yes] is what the law asks at least, so it only says that the seed was not much worse;
       *[no] counts as about 80 seeds tested, for sellers print the better result;
    } without it { COUNT($low_pct) } to { COUNT($high_pct) } % of it would be thought alive.
viability-came-up = { $sowings ->
        [one] A sowing of it was
       *[other] { COUNT($sowings) } sowings of it were
    } counted: { COUNT($emerged) } came up of { COUNT($seeds) } seeds that nothing else took. It is taken into account, with what its beds cost other seed.
viability-pelleted = Pelleted and primed seed is taken to keep about half as long as bare seed.
viability-taught = { $tests ->
        [one] 1 test of your other lots is
       *[other] { COUNT($tests) } tests of your other lots are
    } taken into account: what is known of this lot alone would say { COUNT($low_pct) } to { COUNT($high_pct) } % alive.
viability-shared = By what your tests show, { $of ->
        [place] seed in { $name } keeps
        [kind] your seed of { $name } keeps
        [saver] seed from whom this lot came keeps
       *[garden] seed keeps with you
    } about { DECIMALS($factor) } times as long as expected.
viability-age-doubted = How old it is nobody knows: { DECIMALS($low_years) } to { DECIMALS($high_years) } years are reckoned with.
viability-if-open = If { $place } { $when ->
        [since] does not close tightly since it was sealed anew
        [before] did not close tightly before it was sealed anew
       *[ever] does not close tightly
    } (chance { CHANCE($chance) }): { COUNT($low_pct) } to { COUNT($high_pct) } % alive.
viability-not-reckoned = This kind's seed doesn't keep: sow it fresh or hand it on. How much of it is alive can't be reckoned; only seed just tested or sprouting is sure.
viability-outlived = After { DECIMALS($age_years) } years it is taken for dead: get fresh seed.
viability-kind-unpublished = Nothing is published here on how this kind keeps: it is taken for an ordinary vegetable, with a wide band.
viability-out-of-range = Where it is kept { $store ->
        [too-moist] its seed is moister than 25 %, beyond the range the viability equation was fitted to
        [mould-and-heating] its seed lies over 14 % moisture at some time of the year, where mould and heating kill faster than is reckoned here
        [too-dry] its seed is drier than 2 %, beyond the range the viability equation was fitted to
       *[colder-than-fitted] it is colder than { CELSIUS(-13) }, where the temperature constants were not fitted
    }.
threshold-legal-minimum = legal minimum
threshold-regeneration = 85 % of initial
threshold-asked = { DECIMALS($pct) } % as asked

# What to record to know better.

record-fleeting-harvest-year = Record the harvest year: such seed lasts a season.
record-test = Record a germination test: even 20 seeds tell more than any table.
record-test-again = Test { COUNT($seeds) } seeds more: one of its tests may have failed.
record-harvest-year = Record the harvest year, if only estimated: its age is a guess.
record-harvest-proof = The harvest year is an estimate; any proof of age narrows this.
record-place = Record where it is kept: an ordinary indoor store is assumed.
record-place-climate = Record the temperature and humidity of the place it is kept: usual values stand in.
record-keeping = Say how long seed of this kind keeps for you, if you know.

# When to test again (viability.retest_day).

retest-never-tested = It was never tested: genebanks do so within a year.
retest-was-under = It was probably under 85 % of its initial viability when last tested: test it before you rely on it.
retest-near-limit = It nears 85 % of its initial viability; a test every few months would only use up seed.
retest-fallen = It has probably fallen under 85 % of its initial viability by now: test it before you rely on it.
retest-longest = It should stay over 85 % of its initial viability for decades, but no forecast is trusted for more than { COUNT($longest_years) } years without a test.
retest-third = It should stay over 85 % of its initial viability for { DECIMALS($years) } years from its last test; genebanks test after a third of that.
retest-too-few = { $seeds ->
        [0] No seed is left to test
        [one] The last seed is too little to test
       *[other] The { COUNT($seeds) } seeds left are too few to test
    }.
retest-fleeting = This kind's seed doesn't keep long enough to be tested again.

life = Life of lot { $lot }, { $variety }
life-column = { $choice ->
        [when] When
        [what] What
        [alive] Alive
       *[likely-between] Likely between
    }
life-told = { CHANCE($now_alive) } alive on { DAY($now) }, likely between { COUNT($now_low_pct) } and { COUNT($now_high_pct) } %, judged from { $tests ->
        [0] no finished test
        [one] 1 test
       *[other] { COUNT($tests) } tests
    }; { $half_year ->
        [unknown] { "" }
       *[other] half of it will be dead in { YEAR($half_year) },{ " " }
    }by { DAY($last) } it will be { CHANCE($last_alive) }, likely between { COUNT($last_low_pct) } and { COUNT($last_high_pct) } %.
life-word = { $word ->
        [harvest] harvest
        [today] today
        [reckoned] as reckoned
        [expected] expected
       *[never] beyond reckoning
    }
life-today = today: { CHANCE($p) } alive
life-count = { COUNT($alive_seeds) } of { COUNT($judged_seeds) }
life-half = half alive in { YEAR($year) }
life-do = { $what ->
        [sow-as-usual] sow as usual
        [sow-thicker] sow thicker
        [get-fresh] get fresh
        [enough-to-save] enough to save from
       *[too-few-to-save] too few to save from
    }
life-pct = { PERCENT($pct) }
life-between = { COUNT($low_pct) } to { COUNT($high_pct) } %
life-test = test: { COUNT($alive_seeds) } of { COUNT($judged_seeds) } alive
life-moved = { $letter }: moved to { $place }
life-span = { $first } to { $last }
life-limit = { $limit ->
        [threshold-legal-minimum] the least for sale
        [threshold-regeneration] 85 % of its start
       *[other] { $name }
    }
life-falls = { $past ->
        [yes] probably fell
       *[no] falls
    } under { $limit }

# How well it was foretold (viability.judge_foretold_tests, sowing.judge_forecasts).

tests-kept = tests, foretold on the day
tests-afterwards = tests, foretold afterwards
tests-foretold-last = Your last { $tests ->
        [one] test
       *[other] { COUNT($tests) } tests
    }: { COUNT($inside) } in the 90 % band.
tests-foretold-none = No test is finished yet.
tests-foretold-kept = { $tests ->
        [one] 1 test was
       *[other] { COUNT($tests) } tests were
    } foretold on the day, before it was known what they would bring; those forecasts are kept as they were.
tests-foretold-afterwards = { $tests ->
        [one] 1 test was
       *[other] { COUNT($tests) } tests were
    } foretold afterwards, each from the tests of earlier years alone: when they were finished nothing was kept.
tests-foretold-gain = With what your other lots' tests taught, the counts that came had been given { DECIMALS($times, 2) } times the chance they had without, on the mean.

# Planting stock, which is no seed.

planting-stock-keeps = This is planting stock, not seed: it is kept alive by planting it each year{ $keeps_years ->
        [unknown] { "" }
       *[other] , and lasts about { AGE($keeps_years) } out of the ground
    }. It came { AGE($age_years) } ago.
planting-stock-untested = Planting stock is looked over and planted, not tested.
record-stock-keeping = Say how long it keeps out of the ground, if you know.

# Mixtures (viability.show_viability, verdicts).

mixture-not-judged = It is a mixture: each part is as alive as its own lot, and no one figure holds for all of it.
mixture-tested-whole = A mixture is tested as a whole, if at all: what comes up is of all its parts.
