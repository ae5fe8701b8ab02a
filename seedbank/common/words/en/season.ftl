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
        [half] half
       *[seeds] { COUNT($seeds) }
    }
and-more = and { COUNT($more) } more

year-heading = What needs doing in { YEAR($year) } (as of { DAY($on) })
year-heading-counts = Towels to look at: a count is due
year-heading-towel-first = Towel first ({ COUNT($lots) })
year-heading-get-fresh = Get fresh ({ COUNT($lots) })
year-heading-sow-thicker = Sow thicker ({ COUNT($lots) })
year-heading-can-go = Can go ({ COUNT($lots) })
year-others-stay = The other { COUNT($lots) } lots with seed in them are sown as usual.

# The front page: this week.

week-sign = { $jobs ->
        [0] Nothing needs you this week.
        [one] One job this week.
        [2] Two jobs this week.
        [3] Three jobs this week.
        [4] Four jobs this week.
       *[other] Five jobs this week.
    }{ $jobs ->
        [0] { "" }
       *[other] { $do ->
            [count] { " " }The { $kind } towel first.
            [emergence] { " " }Count the { $kind } first.
            [last-chance] { " " }Sow the { $kind } first.
            [grow-for-seed] { " " }Sow the { $kind } first.
            [towel-first] { " " }Towel the { $kind } first.
            [seed-crop] { " " }The { $kind } seed crop first.
           *[other] { "" }
        }
    }
week-late = { $late ->
        [one] One is past its day.
       *[other] { COUNT($late) } are past their day.
    }
week-next = Next: { $what }, { DAY($on) }.
week-waiting = { COUNT($jobs) } more can wait
job-title = { $do ->
        [count] Count the { $name } towel
        [emergence] Count what is up of { $name }
        [last-chance] Sow { $name } for seed
        [grow-for-seed] Grow { $name } for seed
        [towel-first] Towel { $name } first
        [seed-crop] See to the { $name } seed crop
        [stop-flowering] Keep { $name } from flowering
        [running-out] Get more { $name }
        [get-fresh] Get fresh { $name }
       *[check-entry] Check what was entered of { $name }
    }
job-put-off = Put off until { DAY($until) }: { $title }.
brief-towel = { $when ->
        [now] You can sow it now; ten seeds tell how thickly.
       *[other] { $opens_on ->
            [unknown] Before you sow it.
           *[day] You can sow it from { DAY($opens_on) }.
        }
    }
brief-for-seed = Sow { $hold_seeds ->
        [0] it all
       *[other] { COUNT($sow_seeds) }, hold { COUNT($hold_seeds) }
    }{ $until ->
        [unknown] .
       *[day] , by { DAY($until) }.
    }
begun-towel = { $name } towel
begun-sowing = { $name }
begun-crop = { $name } seed crop
begun-on-a-towel = On a towel
begun-sown-on = Sown { DAY($on) }
begun-crop-stage = { $stage ->
        [planned] Planned
       *[other] Growing
    }
look-on = Look on { DAY($on) }.
look-no-day = Look whenever you pass: its kind has no set days.
look-first-up = { $when ->
        [due] The first should be up since { DAY($on) }.
       *[coming] Count what is up from { DAY($on) }.
    }
look-up-so-far = { COUNT($up) } up so far{ $when ->
        [due] , counted on { DAY($counted_on) }.
       *[coming] . Look again on { DAY($on) }.
    }
brief-before-flower = It flowers this year: pull out untrue plants, and keep it apart.

# What the room season says.

no-such-list-paper = { cannot-be }
    .mend = Choose { $papers }.

to-do-heading = { $do ->
        [count] Counts to make
        [emergence] Rows to look at
        [seed-crop] Seed crops to see to
        [stop-flowering] Must not flower
        [running-out] Running out
       *[check-entry] Lots an import may have got wrong
    }
none-living = { $plants ->
        [unknown] No living seed is left; { COUNT($reserve_seeds) } seeds were to be kept in reserve.
       *[other] No living seed is left for the { COUNT($plants) } plants wanted a year.
    }
under-reserve = { COUNT($seeds) } { $seeds ->
        [one] seed is
       *[other] seeds are
    } left, fewer than the { COUNT($reserve_seeds) } kept in reserve.
too-few-alive = Of { COUNT($seeds) } seeds about { COUNT($alive) } are alive, for { COUNT($plants) } plants wanted a year.
entry-amount-doubted = Nothing was ever booked on it: is it empty?
entry-day-doubted = Did it really come on { DAY($on) }, the day it was entered?
entry-doubted = { entry-amount-doubted } { entry-day-doubted }
planned-not-begun = The plan sows it this year to flower in { YEAR($year) }, { $isolation ->
        [cage] in a cage
        [bag] its flowers bagged
        [hand-pollination] pollinated by hand
       *[distance] kept apart by distance
    }; not begun.

calendar-name = Seed: days to come
coming-category = { $coming ->
        [first-count] Germination test
        [final-count] Germination test
        [retest] Germination test
        [sowing-window] Sowing
        [ripe-seed] Ripe seed
       *[other] Seed crop
    }
coming = { $coming ->
        [first-count] First count
        [final-count] Final count
        [retest] Test again
        [sow] Sow for seed
        [isolate] Keep apart
       *[harvest] Harvest seed
    }: { $variety } ({ $kind }){ $lot ->
        [none] { "" }
       *[other] , { $lot }
    }
coming-of-kind = { $coming ->
        [sowing-window] Sow { $season ->
                [none] { $kind }
               *[other] { $season } { $kind }
            } { $method ->
                [indoors] indoors
               *[other] in the open
            }
       *[ripe-seed] Seed of { $kind } is ripe
    }
coming-span = { $coming ->
        [sowing-window] From { DAY($from_on) } to { DAY($until_on) } here.
       *[ripe-seed] Usually from { DAY($from_on) } to { DAY($until_on) } here: look for it.
    } In stock: { $varieties }{ $more ->
        [0] .
       *[other] { " " }and { COUNT($more) } more.
    }
coming-stop = Must not flower: { $name }
coming-count = Test { $test } was set on { DAY($on) }; { COUNT($unjudged_seeds) } { $unjudged_seeds ->
        [one] seed isn't
       *[other] seeds aren't
    } judged yet.
coming-retest = Last tested { DAY($on) }. { $why }
coming-sowing = Planned for seed; it is to flower in { YEAR($year) }.
coming-flower = At { $site } its first flowers usually open about { DAY($on) }: pull out untrue plants and { $isolation ->
        [cage] put its cage up
        [bag] bag its flowers before they open
        [hand-pollination] be ready to close and pollinate flowers by hand
        [distance] see that nothing it crosses with flowers within reach
        [time] see that nothing it crosses with flowers at the same time
        [only-variety] see that no other variety it crosses with flowers
       *[unknown] settle how it is kept from crossing
    }.
coming-harvest = At { $site } it flowers until about { DAY($on) }: look for ripe seed from now.
coming-ripe = At { $site } seed is usually ripe from about { DAY($on) }: look for it from now.
days-of-counts = Days of counts are those of the kind's published test, or your own.
days-of-crops = Seed crops: days of flowering are the usual ones of the kind, or your own; harvest is told for the day seed begins to be ripe where the climate of the garden is known, else for the day flowering usually ends: look for ripe seed from then on.
days-of-tests = A lot that has probably fallen too far since its last test has no day; where a test pays, it stands among what needs doing now.
days-of-sowing = Seed crops have a day to be sown; for all else in stock it is told when it is sown here, in the open and indoors.
days-of-windows = Sowing and ripe seed are told by the climate of the garden: where its monthly temperatures aren't known, they are left out.

list-title = { $list ->
        [test] To test
        [save] To save seed from
        [last-chance] Last chances, and fresh seed to get
        [sow] To sow
       *[buy] To buy or swap for
    }
list-nothing = { $list ->
        [test] No lot needs a test.
        [save] No variety is due to be grown for seed.
        [last-chance] No lot is on its last chance, and none is to be replaced.
        [sow] Nothing is to be sown.
       *[buy] No seed is lacking.
    }
list-what = { $list ->
        [test] Lots where a test would pay, with their packets’ places.
        [save] Varieties to grow for seed, how much of which lot to sow and when.
        [last-chance] Varieties that can't wait, and lots to get fresh seed for.
        [sow] Seed crops due this month, and what to sow for the plants you want. Takes some seconds the first time.
       *[buy] What seed is lacking for the plants you want. Takes some seconds the first time.
    }
list-head = As of { DAY($on) }; { COUNT($items) } in all.
list-page = { COUNT($page) } of { COUNT($pages) }
list-caution = Caution: { $text }.
listed-test = { amount-of-seeds }, likely { COUNT($low_pct) } to { COUNT($high_pct) } % alive
listed-replace = Replace: get fresh seed; { $seeds ->
        [unknown] some seed is left, not counted
        [one] 1 seed is left
       *[other] { COUNT($seeds) } seeds are left
    }
listed-save = Sow { listed-save-seeds } for { COUNT($parents) } seed parents, to flower in { YEAR($year) }{ $at_earliest ->
        [yes] { " " }at the earliest
       *[no] { "" }
    }
listed-save-seeds = { $held_seeds ->
        [unknown] { $sow_seeds ->
            [unknown] all there are
           *[other] { COUNT($sow_seeds) } seeds
        }
       *[other] { $sow_seeds ->
            [unknown] all { COUNT($held_seeds) } seeds
           *[other] { COUNT($sow_seeds) } of { COUNT($held_seeds) } seeds
        }
    }
listed-planned = Sow for seed, to flower in { YEAR($year) }
listed-in-plan = The plan kept last grows it for seed this year.
listed-sow-by = Sow for seed by { DAY($on) }
listed-share = { COUNT($seeds) } of { $lot }
listed-sow = Sow { COUNT($seeds) } seeds for { COUNT($plants) } plants{ $lots ->
        [one] { "" }
       *[other] : { $shares }
    }
listed-enough = { $enough ->
        [yes] Chance of enough
       *[no] All there is; chance of enough only
    } { CHANCE($chance) } ({ CHANCE($low) } to { CHANCE($high) }).
listed-get = { $get_by ->
        [buy] Buy
       *[swap] Swap for
    } seed for { COUNT($plants) } plants

# This year as a picture (season.pages.season_figure).

season-sign = { $seeds ->
        [0] { $known ->
            [nothing] When to sow? Give your frost dates.
           *[other] { $now ->
                [0] Nothing to sow{ $from_on ->
                    [unknown] { " " }this year
                   *[day] { " " }before { DAY($from_on) }
                }.
                [one] One crop can be sown now.
               *[other] { COUNT($now) } crops can be sown now.
            }
        }
        [one] One to grow for seed this year.
        [2] Two to grow for seed this year.
        [3] Three to grow for seed this year.
        [4] Four to grow for seed this year.
        [5] Five to grow for seed this year.
       *[other] { COUNT($seeds) } to grow for seed this year.
    }
season-sign-line = { $names }{ $more ->
        [0] .
       *[other] { " " }and { COUNT($more) } more.
    }
season-stops = { $stops ->
        [0] Nothing on record would cross with them.
        [one] One other plant must not flower.
       *[other] { COUNT($stops) } other plants must not flower.
    }
season-picture = The year { YEAR($year) } here
season-fold = { $fold ->
        [seed] For seed
        [now] Sow now
       *[month] Sow in { $month }
    }
season-crop = { $season ->
        [none] { $kind }
       *[other] { $season } { $kind }
    }
season-beside = { $varieties }{ $more ->
        [0] { "" }
       *[other] { " " }and { COUNT($more) } more
    }
season-word = { $what ->
        [sow] sow
        [sow-indoors] sow indoors
        [crop] crop
        [keep-apart] keep apart
        [flowers] in flower
        [ripe] harvest, dry
       *[seed-in] seed in { YEAR($year) } →
    }
season-column = { $choice ->
        [crop] Crop
        [sow] Sow
        [crop-ready] Ready
        [keep-apart] Keep apart
       *[ripe] Harvest seed, dry it
    }
season-soon = { $seed ->
        [yes] Sow { $name } for seed
       *[no] Sow { $name }{ $method ->
            [indoors] { " " }indoors
           *[other] { "" }
        }
    }
season-soon-why = { $until_on ->
        [unknown] From { DAY($from_on) }.
       *[day] Until { DAY($until_on) }.
    }

# A kind's year as a picture (season.pages.year_figure).

kind-year-picture = { $kind } through the year here
kind-year-alt = { $told }. The upright line is today.
kind-year-told = { kind-year-row } { DAY_OF_YEAR($from_day) } to { DAY_OF_YEAR($to_day) }
kind-year-row = { $what ->
        [open] In the open
        [fleece] Fleece
        [frame] Frame
        [tunnel] Tunnel
        [indoors] Indoors
        [flowers] Flowers
       *[ripe] Seed ripe
    }
kind-year-column = { $choice ->
        [what] What
        [from] From
       *[to] To
    }
kind-year-days = { $spans }
month-short = { $choice ->
        [1] Jan
        [2] Feb
        [3] Mar
        [4] Apr
        [5] May
        [6] Jun
        [7] Jul
        [8] Aug
        [9] Sep
        [10] Oct
        [11] Nov
       *[12] Dec
    }
month-letter = { $choice ->
        [1] J
        [2] F
        [3] M
        [4] A
        [5] M
        [6] J
        [7] J
        [8] A
        [9] S
        [10] O
        [11] N
       *[12] D
    }
list-written = The list is in { $file }.
