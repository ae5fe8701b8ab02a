# What speaks for and against a verdict (science.verdicts.verdict_reasons).

none-left = None left: { COUNT($balance_seeds) } seeds in the ledger.
plant-again = This is planting stock, { AGE($age_years) } old: plant it in its season, and keep some of what it gives. That alone keeps it going.
past-keeping = It is planting stock of { AGE($age_years) }, and such lasts about { AGE($keeps_years) }: look it over, and plant at once what is still sound.
does-not-store = This kind's seed doesn't keep: sow { $balance_seeds ->
        [unknown] what is left
       *[other] the { COUNT($balance_seeds) } left
    } this season, or find somebody who will.
test-failed = What was tested hardly lived; { $balance_seeds ->
        [unknown] what is left is
       *[other] the { COUNT($balance_seeds) } left are
    } of the same harvest.
outlived = This kind's seed doesn't keep: { DECIMALS($age_years) } years after its harvest it is taken for dead. Get fresh seed.
mixture = It is a mixture: no seed saved from it would come true, so it stands for no variety. Sow it, or let it go.
keepers-decide = As it is hardly anything can be raised from it. Nobody has said how many others keep the variety: if many do, nothing is lost by throwing it out; say so before you do.
not-best = Another lot is the better hope ({ CHANCE($p_best_other_lot_now) } against { CHANCE($p_parents_now) }); this one stays as a second string.
cannot-wait = Don't wait a season: the chance of raising its { COUNT($parents_needed) } seed parents is { CHANCE($p_parents_now) } now and { CHANCE($p_parents_next) } next season.
weak-next = Next season the chance of raising its { COUNT($parents_needed) } seed parents is { CHANCE($p_parents_next) }; { CHANCE($wanted) } is asked, given how many others keep the variety.
weak-after = It can wait one season but not two: the chance of raising its { COUNT($parents_needed) } seed parents the season after next is { CHANCE($p_parents_after) }; { CHANCE($wanted) } is asked, given how many others keep the variety.
too-few-seeds = { COUNT($balance_seeds) } seeds can't give { COUNT($parents_needed) } seed parents even if all grow; raise as many as you can.
regeneration-due = The chance that its viability is under 85 % of what it started with is { CHANCE($p_below_regeneration) } (genebank rule: grow it again).
has-fallen = The chance that its viability is under 85 % of what it started with is { CHANCE($p_below_regeneration) }.
few-sowings = The { COUNT($balance_seeds) } seeds left are fewer than three sowings for { COUNT($parents_needed) } seed parents; the genebank rule asks for three.
no-sowing = The { COUNT($balance_seeds) } seeds left are too few to raise { COUNT($parents_needed) } plants from.
rare = { $keepers_unknown ->
        [0] Few or no other keepers are known, so
       *[other] Nobody has said how many others keep it, so nothing is given up:
    } { CHANCE($wanted) } certainty is asked.
common = { $keepers_unknown ->
        [0] Many others keep the variety: fresh seed can be had, and
       *[other] Nobody has said how many others keep the variety; if many do,
    } { CHANCE($wanted) } certainty is enough.
best-hope = It is your best hope for the variety: no other lot reaches { CHANCE($wanted) } (the next best has { CHANCE($p_best_other_lot_now) }).
only-hope = { $balance_seeds ->
        [unknown] This seed is
       *[other] These { COUNT($balance_seeds) } seeds are
    } the only hope for the variety here.
other-covers = Another lot of the variety can still raise the seed parents next season: the chance is { CHANCE($p_best_other_lot_next) }.
better-lot = A surer lot of the variety can raise the seed parents this season: the chance is { CHANCE($p_best_other_lot_now) }.
failing = The chance that it is worth sowing is only { CHANCE($p_usable) }; likely { CHANCE($viability_median) } of it is alive.
f1 = It is an F1, so its seed would not come true; { $balance_seeds ->
        [unknown] some seed is left, not counted
       *[other] { COUNT($balance_seeds) } seeds are left
    }, likely { CHANCE($viability_median) } alive.
breeding-unknown = Whether it comes true from seed is unknown; grow the { COUNT($parents_needed) } parents and look.
not-wanted = { COUNT($plants_wanted) } plants a year are wanted{ $keepers_unknown ->
        [0] , and others keep it
       *[other] { "" }
    }.
test-pays = A test could change this: one of { COUNT($seeds_a_test_would_take) } seeds would be expected to save more than its seed is worth; the lot's test advice says how many seeds are best.
test-before-rescue = Test first, this season: if it comes up poor, sow everything now (chance of raising its seed parents: { CHANCE($p_parents_now) } now, { CHANCE($p_parents_next) } next season).
test-alongside = A test beforehand pays too: one of { COUNT($seeds_a_test_would_take) } seeds would be expected to save more than its seed is worth; the lot's test advice says how many seeds are best.
open-test = A test is still open: its last count may change this, and nothing is thrown out before it (chance that the lot is worth sowing, by what is known: { CHANCE($p_usable) }).
all-well = It can wait: the chance of raising its seed parents is { CHANCE($p_parents_next) } next season, and likely { CHANCE($viability_median) } of it is alive.
not-counted = How much there is was never counted: it is judged as what packets hold, less what was taken: likely { COUNT($reckoned_seeds) } seeds, maybe far fewer or more. Count or weigh it, and this may change.

# What to do with a lot, as a heading (verdicts.words).

verdict = { $verdict ->
        [replace] Get new seed
        [discard] Nothing is lost by throwing it out
        [plant] Plant it in its season
        [not-judged] A mixture: not judged
       *[other] { $fleeting ->
            [yes] Sow it now, or hand it on
           *[no] { $verdict ->
                [keep] Keep it
                [test] Test it
                [save-seed-this-year] Save seed from it this year
               *[rescue] Rescue it: save seed now
            }
        }
    }

# How a finished test changes the sowing (verdicts.show_test_effects).

density-not-worth-sowing = Next to nothing of it would come up: it is not worth sowing.
density-same = Sow it as thickly as before the test.
density-times = Sow it { DECIMALS($times) } times as thickly as you would have before the test.
density-more = Sow about { PERCENT($more_pct) } more seed than you would have before the test.
density-less = Sow about { PERCENT($less_pct) } less seed than you would have before the test.

# What the list of seed to save says besides (verdicts.list_verdicts).

none-to-save = No variety of the rarity asked about needs seed saved this year.
flower-next-year = { COUNT($varieties) } of them { $varieties ->
        [one] flowers
       *[other] flower
    } next year only.
parents-raised-under-cover = Seed parents are reckoned as raised in modules under cover, then planted out.
may-cross-within-reach = What else flowers within reach may cross with them; the isolation each kind needs is among its facts.
perennials-may-wait = Perennials may take years longer to flower than is reckoned here.

# What to record, since it decides (verdicts.list_verdicts).

record-other-keepers = Say how many others keep the variety. If only few do, then: { verdict }.

# Which lots to test together (verdicts.choose_tests, verdicts.bed_tests).

towel-seeds = Towel { COUNT($seeds) } seeds.
towel-changes = { $now ->
        [usual] Without a test you would sow it at the usual rate. If fewer than { $fewest } of { $seeds } are alive, sow it thicker or get fresh seed.
       *[thicker] Without a test you would sow it thicker or get fresh seed. If { $fewest } of { $seeds } or more are alive, the usual rate will do.
    } The chance that the count changes what you do: { CHANCE($chance) }.
towel-saves = It saves about { DECIMALS($plants) } plants of a row of { COUNT($row_plants) }{ $lots ->
        [0] .
        [one] , { DECIMALS($own_plants) } of them its own: one other lot is known better by it too.
       *[other] , { DECIMALS($own_plants) } of them its own: { COUNT($lots) } other lots are known better by it too.
    }
bed-test = { $how ->
        [tray] Or sow the { COUNT($seeds) } in a tray indoors
       *[row] Or sow the { COUNT($seeds) } in a short row
    }{ $state ->
        [open] { " " }now
        [opens] { " " }from { DAY($on) }
        [over] { " " }from { DAY($on) }
       *[other] { "" }
    }: that tells { CHANCE($share) } as much and gives about { DECIMALS($plants) } plants.
no-towel-pays = No towel would save more than its evening and its seed: what is known of the { COUNT($lots) } lots that could be tested is enough.
towel-not-again = { COUNT($lots) } { $lots ->
        [one] lot tested before is
       *[other] lots tested before are
    } left out: another towel would save less than it costs. A lot tested while fresh gains next to nothing by it.
towel-too-few-seeds = { COUNT($lots) } { $lots ->
        [one] lot is
       *[other] lots are
    } not offered: no test takes more than a third of a lot, so it must hold { COUNT($seeds) } seeds, the reserve left alone.
towels-out = { COUNT($lots) } { $lots ->
        [one] lot is
       *[other] lots are
    } on a towel already; what that will tell is reckoned in.
towel-together = Each is worth so much after those above it: what one tells, the next need not.
