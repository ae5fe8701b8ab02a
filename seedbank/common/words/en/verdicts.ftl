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
keepers-decide = Nobody has said how many others keep the variety, so it is not taken for common: say so, and this may change.
second-string = Another lot of the variety is the one to grow for seed. Hold this one until that crop is in; then it is for rows.
cannot-wait = Don't put it off a season: that would cost { CHANCE($waiting) } of what the variety is worth. The chance of raising { COUNT($parents_needed) } plants is { CHANCE($p_parents_now) } at its next sowing, { CHANCE($p_parents_next) } a season later.
due = A seed crop from { COUNT($parents_needed) } plants is due: it costs least now. Likely { CHANCE($viability_median) } of it is alive.
half-held-back = No more than half is sown: should the crop fail, the rest would still keep { CHANCE($crop_rest) } of the variety next season. The seed held back is for another seed crop, not for a row to eat.
rest-is-dying = What was held back would hardly help: of the variety it would keep { CHANCE($crop_rest) } next season, and all of it sown now keeps { CHANCE($crop_now) }.
too-little-to-divide = There is too little to divide: a crop of half keeps { CHANCE($crop_half) } of the variety, a crop of all of it { CHANCE($crop_now) }; { COUNT($parents_needed) } plants are wanted.
short-of-parents = { COUNT($balance_seeds) } seeds can't give { COUNT($parents_needed) } plants even if all grow; raise as many as you can.
spent = As seed to save from it is spent: likely { CHANCE($viability_median) } of it is alive, and fresh seed can be had.
weak-row = A row sown as thickly as is sensible is expected to give { CHANCE($crop) } of a full crop: a fresh packet costs less than the plants missing.
can-wait = It can wait: likely { CHANCE($viability_median) } of it is alive, enough to raise { COUNT($parents_needed) } plants when a seed crop is due.
rows = There is enough for { DECIMALS($rows) } rows of 3 m; likely { CHANCE($viability_median) } of it is alive.
row-short = It does only { DECIMALS($rows) } of a 3 m row: { $other_keepers ->
        [0] there is no more to be had
        [1] look for more if you want a whole one
       *[other] order more if you want a whole one
    }. Likely { CHANCE($viability_median) } of it is alive.
rare = { $other_keepers ->
        [0] Nobody else is known to keep it.
       *[other] Few others keep it.
    }
only-hope = { $balance_seeds ->
        [unknown] This seed is
       *[other] These { COUNT($balance_seeds) } seeds are
    } the only hope for the variety here.
other-covers = Another lot of the variety keeps it going.
all-in-one-packet = Nobody else keeps it and this packet is all there is: put half in another place, and give some to a second keeper once any is spare. Half of it grown for seed now would keep { CHANCE($crop_half) } of the variety.
f1 = It is an F1: seed saved from it would not come true.
breeding-unknown = Whether it comes true from seed is unknown; grow the { COUNT($parents_needed) } plants and look.
not-wanted = You do not grow it now, and many others keep it.
has-fallen = The chance that its viability is under 85 % of what it started with is { CHANCE($p_below_regeneration) }; genebanks grow a lot again at that.
test-pays = Ten minutes with { COUNT($seeds_a_test_would_take) } seeds on a towel could change this; the lot's test advice says how many are best.
test-alongside = If there is time before sowing, a towel of { COUNT($seeds_a_test_would_take) } seeds tells how thickly to sow.
open-test = It is on a towel: its last count may change this, and nothing is thrown out before it (chance that it is worth sowing, by what is known: { CHANCE($p_usable) }).
not-counted = How much there is was never counted: it is judged as what packets hold, less what was taken: likely { COUNT($reckoned_seeds) } seeds, maybe far fewer or more. Count or weigh it, and this may change.

# What to do with a lot, as a heading (verdicts.words).

verdict = { $verdict ->
        [last-chance] Last chance
        [grow-for-seed] Grow for seed
        [towel-first] Towel first
        [get-fresh] Get fresh
        [sow-thicker] Sow thicker
        [can-go] Can go
        [not-judged] Not judged as seed
       *[sow-as-usual] Sow as usual
    }

# What to do with a lot and when (verdicts.list_verdicts). Its sign is nine words at most; its line
# says until when or how much.

sow-for-seed = Sow { $sow_seeds ->
        [unknown] half of it
       *[other] { COUNT($sow_seeds) }
    }, hold { $hold_seeds ->
        [unknown] half
       *[other] { COUNT($hold_seeds) }
    }
then-for-seed = Then { $hold_seeds ->
        [0] sow it all
       *[other] sow { $sow_seeds ->
                [unknown] half of it
               *[other] { COUNT($sow_seeds) }
            } and hold { $hold_seeds ->
                [unknown] half
               *[other] { COUNT($hold_seeds) }
            }
    } for seed.
sign-when = { $when ->
        [now] It can be sown now.
        [next-month] From { DAY($opens_on) }.
        [later-this-year] From { DAY($opens_on) }.
        [next-year] Next year, from { DAY($opens_on) }.
        [never] It can't be sown here, in the open or indoors.
       *[not-known] Sow it in its season.
    }

advice-last-chance = { $when ->
        [now] { $hold_seeds ->
            [0] { $dying ->
                    [yes] It is dying: sow
                   *[no] Too little to divide: sow
                } it all for seed{ $until ->
                    [unknown] { " " }now.
                   *[day] , by { DAY($until) }.
                }
           *[other] Sow { $sow_seeds ->
                    [unknown] half of it
                   *[other] { COUNT($sow_seeds) }
                } for seed now, hold { $hold_seeds ->
                    [unknown] half
                   *[other] { COUNT($hold_seeds) }
                }{ $until ->
                    [unknown] .
                   *[day] ; the last day to sow is { DAY($until) }.
                }
        }
        [never] It can't be sown here in the open or indoors: give it to somebody who can grow it for seed.
       *[other] { $when ->
            [next-month] Nothing to do until { DAY($opens_on) }. Then
            [later-this-year] Nothing to do until { DAY($opens_on) }. Then
            [next-year] It is too late this year. Next year, from { DAY($opens_on) },
           *[not-known] At its next sowing time
        } { $hold_seeds ->
            [0] sow it all for seed: { $dying ->
                    [yes] it is dying.
                   *[no] there is too little to divide.
                }
           *[other] sow { $sow_seeds ->
                    [unknown] half of it
                   *[other] { COUNT($sow_seeds) }
                } for seed, and hold { $hold_seeds ->
                    [unknown] half.
                   *[other] { COUNT($hold_seeds) }.
                }
        }
    }
    .sign = { $when ->
            [never] It can't be sown here: give it away.
            [next-month] Nothing to do until { DAY($opens_on) }.
            [later-this-year] Nothing to do until { DAY($opens_on) }.
           *[other] { $hold_seeds ->
                [0] { $dying ->
                    [yes] It is dying: sow it all for seed.
                   *[no] Too little to divide: sow it all.
                }
               *[other] Sow { $sow_seeds ->
                        [unknown] half
                       *[other] { COUNT($sow_seeds) }
                    } for seed{ $when ->
                        [now] { " " }now
                        [next-year] { " " }next year
                       *[other] { "" }
                    }, hold { $hold_seeds ->
                        [unknown] half
                       *[other] { COUNT($hold_seeds) }
                    }.
            }
        }
    .line = { $when ->
            [now] { $until ->
                [unknown] { "" }
               *[day] The last day to sow is { DAY($until) }.
            }
            [never] Somebody else can grow it for seed.
            [next-month] { then-for-seed }
            [later-this-year] { then-for-seed }
            [next-year] From { DAY($opens_on) }. It is too late this year.
           *[not-known] At its next sowing time.
        }
advice-grow-for-seed = { $when ->
        [now] Grow it for seed{ $until ->
                [unknown] { " " }now:
               *[day] , sown by { DAY($until) }:
            }
        [next-month] Nothing to do until { DAY($opens_on) }. Then grow it for seed:
        [later-this-year] Nothing to do until { DAY($opens_on) }. Then grow it for seed:
        [next-year] It is too late this year. Next year, from { DAY($opens_on) }, grow it for seed:
        [never] It can't be sown here in the open or indoors. Where it can:
       *[not-known] Grow it for seed at its next sowing time:
    } sow { $sow_seeds ->
        [unknown] half of it
       *[other] { COUNT($sow_seeds) }
    } for { COUNT($parents) } plants to save from, and hold { $hold_seeds ->
        [unknown] half.
       *[other] { COUNT($hold_seeds) }.
    }{ $next_year ->
        [yes] { " " }It flowers and gives seed the year after sowing.
       *[no] { "" }
    }
    .sign = { $when ->
            [now] Grow it for seed this year.
            [next-month] Nothing to do until { DAY($opens_on) }.
            [later-this-year] Nothing to do until { DAY($opens_on) }.
            [next-year] Grow it for seed next year.
            [never] It can't be sown here: share it.
           *[not-known] Grow it for seed at its next sowing.
        }
    .line = { $when ->
            [now] { sow-for-seed }{ $until ->
                    [unknown] .
                   *[day] , by { DAY($until) }.
                }
            [next-month] { then-for-seed }
            [later-this-year] { then-for-seed }
            [next-year] { sow-for-seed }, from { DAY($opens_on) }.
            [never] { sow-for-seed } where it can be sown.
           *[not-known] { sow-for-seed }.
        }
advice-towel-first = { $begun ->
        [yes] It is on a towel: wait for its last count.
       *[no] Towel { COUNT($seeds) } seeds first, at any time.
    }
    .sign = { $begun ->
            [yes] On a towel. Wait for its last count.
           *[no] Towel { COUNT($seeds) } seeds first.
        }
    .line = { $begun ->
            [yes] Then you know how thickly to sow it.
           *[no] At any time of the year. Then you know how thickly to sow.
        }
advice-get-fresh = Get fresh seed{ $when ->
        [now] { " " }now.
        [next-month] , by { DAY($opens_on) }.
        [later-this-year] , by { DAY($opens_on) }.
        [next-year] { " " }for next year, by { DAY($opens_on) }.
       *[other] { " " }before its next sowing time.
    }
    .sign = Too weak to rely on. Get fresh seed.
    .line = { $when ->
            [now] Now: it is time to sow it.
            [next-month] By { DAY($opens_on) }, when sowing begins.
            [later-this-year] By { DAY($opens_on) }, when sowing begins.
            [next-year] For next year, by { DAY($opens_on) }.
           *[other] Before its next sowing time.
        }
advice-hold = Hold it until the variety's seed crop is in.
    .sign = Hold it until its seed crop is in.
    .line = Another packet of the variety is the one to grow.
advice-sow-thicker = Still good. Sow it { $step ->
        [little] a little thicker than usual
        [half] half as thick again
        [nearly-twice] nearly twice as thick
       *[twice] twice as thick
    }{ $when ->
        [now] { " " }now.
        [next-month] , from { DAY($opens_on) }.
        [later-this-year] , from { DAY($opens_on) }.
        [next-year] { " " }next year, from { DAY($opens_on) }.
       *[other] { " " }at its next sowing time.
    }{ $next_on ->
        [unknown] { "" }
       *[day] { " " }A seed crop is due from { DAY($next_on) }.
    }
    .sign = Still good. Sow { $step ->
            [little] a little thicker
            [half] half as thick again
            [nearly-twice] nearly twice as thick
           *[twice] twice as thick
        }.
    .line = { sign-when }
advice-can-go = Nothing is lost if it goes.
    .sign = Nothing is lost if it goes.
    .line = Nothing is ever thrown out by itself.
advice-sow-as-usual = Sow it as usual{ $when ->
        [now] { " " }now.
        [next-month] , from { DAY($opens_on) }.
        [later-this-year] , from { DAY($opens_on) }.
        [next-year] { " " }next year, from { DAY($opens_on) }.
       *[other] { " " }at its next sowing time.
    }{ $next_on ->
        [unknown] { "" }
       *[day] { " " }No seed crop before { DAY($next_on) }.
    }
    .sign = Still good. Sow as usual.
    .line = { sign-when }
advice-not-judged = { $mixture ->
        [yes] It is a mixture: sow it, or let it go.
       *[no] Plant it in its season.
    }
    .sign = { $mixture ->
            [yes] A mixture: sow it, or let it go.
           *[no] Plant it in its season.
        }
    .line = { $mixture ->
            [yes] Seed saved from it would not come true.
           *[no] Keep some of what it gives: that keeps it going.
        }

# How a finished test changes the sowing (verdicts.show_test_effects).

density-not-worth-sowing = Next to nothing of it would come up: it is not worth sowing.
density-same = Sow it as thickly as before the test.
density-times = Sow it { DECIMALS($times) } times as thickly as you would have before the test.
density-more = Sow about { PERCENT($more_pct) } more seed than you would have before the test.
density-less = Sow about { PERCENT($less_pct) } less seed than you would have before the test.

# What the list of seed to save says besides (verdicts.list_verdicts).

none-to-save = No variety of the rarity asked about is due to be grown for seed.
flower-next-year = { COUNT($varieties) } of them { $varieties ->
        [one] flowers
       *[other] flower
    } next year only.
parents-raised-under-cover = Seed parents are reckoned as raised in modules under cover, then planted out.
may-cross-within-reach = What else flowers within reach may cross with them; the isolation each kind needs is among its facts.
perennials-may-wait = Perennials may take years longer to flower than is reckoned here.

# How much seed to keep, and what is spare (verdicts.spare_seed).

seed-to-keep = { $short ->
        [yes] Keep it all
       *[no] Keep { COUNT($keep) }
    }{ $until ->
        [unknown] { "" }
       *[day] { " " }until its next seed crop, due from { DAY($until) }
    }: { COUNT($for_rows) } for { COUNT($seasons) } { $seasons ->
        [one] season
       *[other] seasons
    } of rows{ $for_seed_crop ->
        [0] { "" }
       *[other] , { COUNT($for_seed_crop) } for its next seed crop and another should it fail
    }{ $reserve ->
        [0] { "" }
       *[other] , { COUNT($reserve) } in reserve
    }. { $spare ->
        [0] Nothing is spare.
        [one] One is spare to give.
       *[other] { COUNT($spare) } are spare to give.
    }
nothing-to-give = No counted seed of it is fit to give.

# What to record, since it decides (verdicts.list_verdicts).

record-other-keepers = Say how many others keep the variety. If many do, then: { $verdict ->
        [last-chance] last chance
        [grow-for-seed] grow for seed
        [towel-first] towel first
        [get-fresh] get fresh seed
        [sow-thicker] sow it thicker
        [can-go] it can go
        [not-judged] not judged as seed
       *[sow-as-usual] sow it as usual
    }.

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
towel-left-out = { $why ->
        [begun] It is on a towel already.
        [short] A test would take more of it than can be spared.
        [full] It comes after these: more evenings or towels would reach it.
       *[taught] What these tell, and what is known of it, leaves its own towel little to change.
    }
towel-together = Each is worth so much after those above it: what one tells, the next need not.
