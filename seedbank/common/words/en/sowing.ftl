# What the room sowing says.

variety-all-reserve = All seed of this variety is its reserve of { $reserve_seeds }.
    .mend = Ask to sow the reserve too, if you mean to renew the seed.

emergence-negative = { cannot-be }
    .mend = Count 0 units or more.
loss-below-one = { cannot-be }
    .mend = Give 1 unit or more.
loss-cause-after-emergence = { cannot-be }
    .mend = Give another cause: these did emerge.
count-before-sowing = { cannot-be }
    .mend = Give { DAY($sown_on) } or later.

sowing-finished = This sowing was finished on { DAY($finished_on) }.
    .mend = There is nothing left to do.
sowing-without-count = Nothing was counted of this sowing.
    .mend = Record how many came up, 0 if none did, and finish it then.

lot-holds-no-seed = Lot { $value } holds no seed.
    .mend = Ask for another lot, or take stock if the packet isn't empty.
lot-all-reserve = All { $kept_back } seeds of lot { $lot } are the reserve of a rare variety.
    .mend = Ask to sow the reserve too, if you mean to renew the seed.

no-plants-wanted = No plants are wanted of this variety.
    .mend = Say how many plants are wanted, here or on the variety.

up-too-soon = { COUNT($units) } up { $days ->
        [0] on the day of
        [one] 1 day after
       *[other] { COUNT($days) } days after
    } sowing. { $fastest_days ->
        [unknown] Nothing comes up that soon.
        [one] The fastest published for { $kind } is 1 day ({ $source }).
       *[other] The fastest published for { $kind } is { COUNT($fastest_days) } days ({ $source }).
    }
    .mend = Mend the day, the number, or the day of sowing.

sowing-day-gone-by = The day of sowing has gone by.
    .mend = Give today ({ DAY($today) }) or a later day.
limit-of-other-method = { $field } means nothing for the method { $method }.
    .mend = Leave it out, or ask with method={ $methods }.
no-plant-fits = Not one plant fits there.
    .mend = Give { METRES($least_m) } or more.
no-plant-fits-bed = Not one plant fits there.
    .mend = Give { SQUARE_METRES($least_m2) } or more.

undoing-not-ticked = Not undone.
    .mend = Go back, and tick that the sowing is to be undone.

no-lot-holds-seed = No lot of this variety holds seed.
    .mend = Get seed, or take stock of what is left.
all-lots-nearly-dead = No lot of this variety is likely to be even 30 % alive.
    .mend = Ask for advice on one lot to sow it all the same, or test it first.

finished-before-last-count = { comes-before }
    .mend = Finish it on the day of its last count ({ DAY($first) }) or later.

# Whether the soil is warm enough (science.sowing.soil_warmth).

soil-unknown = { $temperature_known ->
        [yes] This kind's need for warmth is not known.
       *[no] The soil temperature is not known.
    }
soil-unfit = At { CELSIUS($soil_temp_c) } the soil is too { $side ->
        [cold] cold
       *[hot] hot
    }: do not sow yet.
soil-untried = { CELSIUS($soil_temp_c) } lies outside the temperatures this kind was tried at.
soil-good = { "" }
soil-slow = At { CELSIUS($soil_temp_c) } { ABOUT($share_lost) } of good seed that would come at its best temperature fails, and more of an old lot.

# Which lots to sow, and why (science.sowing.lot_choice, sowing.advise_variety).

lot-too-little-alive = { ABOUT($p_alive) } alive: too little to fill a row
lot-oldest-first = oldest usable seed first ({ YEAR($harvest_year) })
lot-kept-as-reserve = kept as the reserve of a rare variety
lot-older-enough = older seed is enough
lot-oldest-that-does = oldest seed that does it ({ YEAR($harvest_year) })
lot-most-hopeful = the most to be hoped for ({ YEAR($harvest_year) })
lot-not-needed = not needed
lot-one-at-a-time = one lot is sown at a time
lot-little-living = holds too little living seed
lot-empty = holds no seed
lot-said = { $lot }: { $said }

# What else to do (science.sowing.sowing).

wait-for-warmth = { $soil } Wait, or start { $side ->
        [cold] under cover
       *[hot] in a cooler place
    }.
test-first = Test { COUNT($seeds) } seeds first: knowing how many live is worth about { DECIMALS($saved_plants) } of the { COUNT($plants) } plants.
two-halves = Or make two sowings of half each, some weeks apart.
pre-germinate = Sprout the seed on damp paper and sow what sprouts: what is dead is not sown.
other-lot = Make up the { $lacking_plants ->
        [one] one plant
       *[other] { COUNT($lacking_plants) } plants
    } this lot can't be relied on for from another lot. There is { $lots }.
lot-at-hand = { $lot } ({ amount-of-seeds }, { ABOUT($p_alive) } alive)
buy = Get fresh seed of this variety.
by-feel-own = median of { COUNT($sowings) } of your sowings
by-feel-usual = common practice, no single source

# Several to a cell, and one sowing after another (sowing.several_to_a_cell, sowing.advise_sowing).

several-to-a-cell = { $units ->
        [one] 1 seed
       *[other] { COUNT($units) } seeds
    } in each of { $cells ->
        [one] 1 cell
       *[other] { COUNT($cells) } cells
    }, for { COUNT($together) } plants together: { COUNT($low) } to { COUNT($high) } come up, and { CHANCE($p_empty) } of the cells stay empty. Do not thin; plant the clump out whole. { COUNT($seeds) } seeds in all{ $printed_low ->
        [unknown] .
       *[other] ; { RATE($printed_low) } to { RATE($printed_high) } a cell are printed.
    }
several-sign = Sow { COUNT($units) } to a cell. Do not thin.
successions = { COUNT($sowings) } such sowings take { COUNT($seeds) } seeds{ $enough_for ->
        [unknown] { "" }
       *[other] ; there is enough for { COUNT($enough_for) }
    }.{ $last_on ->
        [unknown] { "" }
       *[day] { " " }The last good day is { DAY($last_on) }.
    }

# The rate: usual, this lot's, how sure, plan B (sowing.rate_words).

rate-low = { $unit ->
        [metre] { PER_METRE($low) }
        [station] { RATE($low) } a station
        [cell] { RATE($low) } a cell
       *[m2] { PER_SQUARE_METRE($low) }
    }
rate-high = { $unit ->
        [metre] { PER_METRE($high) }
        [station] { RATE($high) } a station
        [cell] { RATE($high) } a cell
       *[m2] { PER_SQUARE_METRE($high) }
    }
rate-most = { $unit ->
        [metre] { PER_METRE($most) }
        [station] { RATE($most) } a station
        [cell] { RATE($most) } a cell
       *[m2] { PER_SQUARE_METRE($most) }
    }
rate-again = { $unit ->
        [metre] { PER_METRE($rate) }
        [station] { RATE($rate) } a station
        [cell] { RATE($rate) } a cell
       *[m2] { PER_SQUARE_METRE($rate) }
    }
rate-range = { $one_rate ->
        [yes] about { rate-high }
       *[no] { rate-low } to { rate-high }
    }
rate-usual = { $basis ->
        [none] No rate is printed for it or its family: a good lot takes { rate-range }.
        [stand-in] No rate is printed for it: a good lot takes { rate-range }, held to three times what is printed for its nearest relative.
        [pelleted] Pelleted seed is sown one a place.
       *[own] Usual: { rate-range }, by what is printed.
    }
rate-lot = { $change ->
        [same] This lot is as good as a good one
        [thicker] This lot takes { DECIMALS($times) } times the seed of a good one
       *[thinner] This lot would do with { DECIMALS($times) } times the seed of a good one, but never with less than is usual
    }: { ABOUT($p_alive) } alive, of { YEAR($harvest_year) }, { $tested ->
        [yes] tested
       *[no] not tested
    }.{ $capped ->
        [yes] { " " }More than { rate-most } is not advised, whatever the seed: it couldn't be thinned.
       *[no] { "" }
    }
rate-sure = It fills the { $unit ->
        [metre] row
        [station] stations
        [cell] cells
       *[m2] bed
    } { $tenths_first ->
        [0] hardly ever
        [1] once in ten times
        [10] nearly always
       *[other] { COUNT($tenths_first) } times in ten
    }{ $again ->
        [no] { "" }
       *[yes] ; with a second sowing, { $tenths_end ->
            [0] hardly ever
            [1] once
            [10] nearly always
           *[other] { COUNT($tenths_end) }
        }
    }. Filled means { COUNT($plants) } plants or what is worth as much ({ CHANCE($p_first) }{ $again ->
        [no] { "" }
       *[yes] , in the end { CHANCE($p_end) }
    }).
sow-sign = { $what ->
        [no-bed] Not worth the bed. Get fresh seed.
        [weak] Towel some first, or get fresh seed.
        [short] Too little for { COUNT($plants) } plants: sow { COUNT($seeds) }.
        [little] Sow a little thicker.
        [half] Sow half as thick again.
        [nearly-twice] Sow nearly twice as thick.
        [twice] Sow twice as thick.
       *[usual] Sow as usual.
    }
plan-b = If fewer than { COUNT($below) } { $seen ->
        [cells] cells have a plant
        [stations] stations have a plant
       *[plants] plants stand a spacing apart
    }{ $count_on ->
        [unknown] { "" }
       *[other] { " " }by about { DAY($count_on) }
    }, sow the gaps again, { rate-again } (chance { CHANCE($p) }).{ $last_on ->
        [unknown] { "" }
       *[other] { " " }Last sensible day: { DAY($last_on) }.
    }
rate-sow = Sow { COUNT($seeds) } seeds.
rate-sow-and-plan-again = Sow { COUNT($seeds) } seeds, and plan a second sowing: the chance of a good crop in the end is { CHANCE($p_good) }.
rate-test-first-or-fresh = Test first or get fresh seed: even with a second sowing the chance of a good crop is { CHANCE($p_good) }. If neither can be done in time, make two sowings of half each.
rate-not-worth-the-bed = It is not worth the bed: hardly anything is to be expected of this seed.
half-more-buys = { COUNT($seeds) } seeds, half as many again, would raise the chance of all { COUNT($plants) } plants from one sowing from { CHANCE($p) } to { CHANCE($p_more) }.

# What was filled in of what was asked (sowing.setting).

sowing-method-taken = No method was asked for: { $method ->
        [row] a row
        [station] stations
        [module] cells of a tray
       *[broadcast] a bed sown broadcast
    } { $method ->
        [row] is
        [broadcast] is
       *[other] are
    } taken.
sowing-protection-taken = No protection was asked for: { $protection ->
        [indoors] indoors
       *[open] open ground
    } is taken.
sowing-spacing-taken = No spacing is known for this kind: { CM($spacing_cm) } is taken.
sowing-plants-usual = { COUNT($plants) } { $plants ->
        [one] plant is
       *[other] plants are
    } wanted of this variety each year.
sowing-plants-of-room = There is room for { $plants ->
        [one] 1 plant
       *[other] { COUNT($plants) } plants
    }: so many are taken, as no number was asked for.
sowing-room-for = There is room for { $room_plants ->
        [one] 1 plant
       *[other] { COUNT($room_plants) } plants
    } of the { COUNT($plants) } wanted.

# Why so many, and what to beware of (sowing.advice_words).

seedbed-taught = { $effect ->
        [kind] For { $level }
        [season] In the { $season ->
            [winter] winter
            [spring] spring
            [summer] summer
           *[autumn] autumn
        } of { YEAR($year) }
       *[garden] { $level ->
            [compost] In your compost
           *[soil] In your ground
        }
    }: { $sowings ->
        [one] 1 sowing
       *[other] { COUNT($sowings) } sowings
    } of yours came up { $came_up ->
        [worse] worse than published
        [better] better than published
       *[as-published] about as published
    }.
seedbed-untaught = None of your sowings tells of such a seedbed yet: published losses are taken.
seedbed-ordinary = Without a soil temperature an ordinary season's seedbed is taken.
chance-range = ({ CHANCE($p_low) } to { CHANCE($p_high) })
pests-expected = Pests are taken to eat { ABOUT($p) } { chance-range }; that rests on common practice, no single source{ $sowings ->
        [0] { "" }
        [one] , and 1 of your sowings
       *[other] , and { COUNT($sowings) } of your sowings
    }.
sowing-alive-by-then = On { DAY($on) } { ABOUT($p) } of the lot is alive { chance-range }{ $guessed ->
        [yes] , a guess from its age alone
       *[no] { "" }
    }.
sowing-comes-up = Of 100 seeds sown about { COUNT($of_100) } come up and are left by pests ({ COUNT($low) } to { COUNT($high) }).
sowing-dormancy-untested = No test of untreated seed tells of dormancy: nearly all living seed is taken to be ready to sprout.
sowing-ready = { COUNT($sprouted_seeds) } of { COUNT($living_seeds) } living seeds sprouted untreated in the test of { DAY($tested_on) }{ $asleep ->
        [yes] {""}; what slept fades in a dry store unless it is hard, and some of it wakes in the bed
       *[no] {""}
    }, so { ABOUT($p) } { chance-range } is ready to come up.
sowing-enough-stations = Enough means that 95 % of the stations have at least one plant.
sowing-enough-cells = Enough means as many cells with at least one plant as plants are wanted.
sowing-shortfall = { $counted ->
        [yes] All that may be sown
       *[no] Even { COUNT($seeds) } seeds of it
    } can be relied on ({ CHANCE($p_wanted) }) for { COUNT($sure_plants) } of the { COUNT($plants) } plants; the chance of all of them is { CHANCE($p_enough) }.
sowing-cluster = A seed of { $kind } is a cluster or fruit that gives about { DECIMALS($seedlings) } seedlings ({ DECIMALS($low) } to { DECIMALS($high) }) when it comes up; all but one are thinned.
sowing-all-the-same = Sown all the same, it would give the plants and chances shown here.
sowing-lots-together = The lots share one seedbed and its luck, so they are reckoned together.
sowing-far-ahead = That is { DECIMALS($years) } years ahead: the seed is reckoned to lie until then where it is now. See that the year is right, and ask again nearer the day.
sowing-losses-left-out = Frost and drought after sowing are not reckoned in, nor seedlings that die for other reasons than pests.
sowing-stock-unsure = The lot holds { COUNT($seeds) } seeds give or take { COUNT($seeds_se) }: take stock before you rely on the last of them.
sowing-reserve-kept = { $seeds ->
        [one] 1 seed is
       *[other] { COUNT($seeds) } seeds are
    } kept back as the reserve of a rare variety; ask to sow the reserve too if you mean to renew it.
sowing-reserve-tick = { $seeds ->
        [one] 1 seed is
       *[other] { COUNT($seeds) } seeds are
    } kept back as the reserve of a rare variety; tick “Sow the reserve too” to sow { $seeds ->
        [one] it
       *[other] them
    } and renew the seed.
sowing-asleep = { COUNT($asleep_seeds) } of { COUNT($living_seeds) } living seeds in the test of { DAY($tested_on) } were hard or dormant, and { ABOUT($p_asleep) } may not come up this season: nick or chill the seed first, or test again nearer the day.
sowing-not-counted = You have some of it, not counted: the chance that there are { COUNT($seeds) } seeds is { CHANCE($p_held) }, by what packets hold. See that there are before you sow.
sowing-as-told = Told on { DAY($on) }: { COUNT($seeds) } seeds for { COUNT($plants_wanted) } plants, { COUNT($plants) } expected ({ COUNT($low_plants) } to { COUNT($high_plants) }), enough with a chance of { CHANCE($p_enough) }.

# How well it was foretold (sowing.judge_forecasts, show_sowings).

forecasts-of-sowings = sowings
forecasts-none = No sowing is finished and counted yet.
forecasts-of-first-year = Of { $sowings ->
        [one] 1 sowing
       *[other] { COUNT($sowings) } sowings
    } { COUNT($first_year_sowings) } { $first_year_sowings ->
        [one] is
       *[other] are
    } of the first year and had only published losses to go by.
forecasts-know-later-tests = Each lot's viability on its sowing day uses every test made since.
forecasts-known-losses = Counts lost to known causes (eaten, frost, drought) are left out of what was to come up.
told-from-earlier-years = the tests of the lot and your sowings of earlier years
told-from-all-so-far = the tests of the lot and your sowings so far

# What a sowing is kept by, and asked by (sowing.words, sowing.pages.sow_advice).

sowing-method = { $choice ->
        [row] in a row
        [station] at stations, a few seeds each
        [module] in cells of a tray
       *[broadcast] scattered over a bed
    }
sowing-protection = { $choice ->
        [open] open ground
        [fleece] under fleece
        [cold-frame] in a cold frame
        [tunnel] in a tunnel or greenhouse
       *[indoors] indoors
    }
sowing-loss = { $choice ->
        [eaten] eaten: mice, birds, slugs
        [frost] cold or frost
        [dried-out] dried out
       *[not-emerged] just did not come up
    }
sowing-least-cost = as costs least
sowing-confidence = { $choice ->
        [0.5] all of them once in 2
        [0.8] all of them 8 times in 10
        [0.9] all of them 9 times in 10
        [0.95] all of them 19 times in 20
       *[0.99] all of them 99 times in 100
    }
sowing-asked-for = { $method ->
        [row] { METRES($row_m) } of row
        [station] { COUNT($plants) } stations
        [module] { COUNT($plants) } plants in cells
       *[broadcast] { COUNT($plants) } plants in a bed
    }, { $on ->
        [unknown] today
       *[day] { DAY($on) }
    }
sowing-asked = { $choice ->
        [plants] Plants wanted
        [confidence] How thickly
        [method] How it is sown
        [protection] Where it is kept
        [soil_temp_c] Soil temperature
        [sow_on] Day of sowing
        [spacing_cm] Final spacing
        [row_m] Length of row
        [area_m2] Size of bed
        [stations] Stations
        [cells] Cells at most
        [plants_a_cell] Plants a cell
        [sowings] Sowings in all
        [hand_span_cm] Your hand-span
       *[use_reserve] The reserve
    }

# The command.

sow-question = { COUNT($plants) } { $plants ->
        [one] plant
       *[other] plants
    } of { $variety } from lot { $lot }, sown { DAY($sow_on) } ({ $method }, { $protection }):
sow-enough = Sow { $seeds ->
        [one] 1 seed; that gives
       *[other] { COUNT($seeds) } seeds; that gives
    } them with { PERCENT($confidence_pct) } certainty.
sow-too-little = { $counted ->
        [yes] Too little: all
       *[no] Of some, not counted:
    } { COUNT($seeds) } seeds give { COUNT($sure_plants) } plants with { PERCENT($confidence_pct) } certainty, and the chance of { COUNT($plants) } is { CHANCE($p_enough) }.
sow-heading = { $value ->
        [instead] Instead
        [why] Why
       *[mind] Mind
    }
sow-line = { $value ->
        [amount] amount
        [depth] depth
        [usual] usual
        [lot] this lot
        [sure] how sure
        [plan-b] plan B
        [row] row
        [hand] by hand
        [stations] stations
        [cells] cells
        [bed] bed
        [alive] alive
        [comes-up] comes up
        [plants] plants
        [to-thin] to thin
        [comes-up-in] comes up in
       *[by-feel] by feel
    }
sow-amount = { COUNT($seeds) }{ $available_seeds ->
        [unknown] { "" }
       *[other] { " " }of { COUNT($available_seeds) }
    } seeds{ $kept_back_seeds ->
        [0] { "" }
       *[other] { " " }({ COUNT($kept_back_seeds) } more are kept back)
    }{ $grams ->
        [unknown] { "" }
       *[other] , { GRAMS($grams) } ({ GRAMS($low_g) } to { GRAMS($high_g) })
    }
sow-depth = { CM($depth_cm) }
sow-row = { METRES($row_m) }, { COUNT($seeds_per_m) } seeds a metre (one every { CM($cm_between_seeds) }), thinned to { CM($final_spacing_cm) }
sow-hand = { COUNT($seeds_a_span) } to a hand-span of { CM($span_cm) } (usual: { COUNT($usual_a_span) }){ $pinch_seeds ->
        [unknown] { "" }
        [1] , or one seed every { CM($pinch_every_cm) }
       *[other] , or a pinch of { COUNT($pinch_seeds) } every { CM($pinch_every_cm) }
    }{ $spots_below ->
        [unknown] { "" }
       *[other] ; thin is fewer than { COUNT($spots_below) } plants at { COUNT($spots) } spots of a hand-span
    }
sow-stations = { COUNT($stations) } of { $seeds_per_station ->
        [one] 1 seed
       *[other] { COUNT($seeds_per_station) } seeds
    }, { CM($spacing_cm) } apart; filled: { $filled }
sow-cells = { COUNT($cells) } of { $seeds_per_cell ->
        [one] 1 seed
       *[other] { COUNT($seeds_per_cell) } seeds
    }; filled: { $filled }
sow-bed = { SQUARE_METRES($area_m2) }, { COUNT($seeds_per_m2) } seeds a m²
sow-not-known = not known
sow-count = { COUNT($median) } ({ COUNT($low) } to { COUNT($high) })
sow-by-feel = { COUNT($seeds) } seeds; { $too_few ->
        [yes] { COUNT($fewer_seeds) } seeds fewer
       *[no] { COUNT($saved_seeds) } seeds and the thinning of { COUNT($seedlings) } seedlings saved
    } ({ $basis })

# The record of forecasts as pictures (sowing.pages.forecast_record_figure).

record-title = How well do I judge? Foretold against what came up
record-column = { $value ->
        [sown] Sown
        [lot] Lot
        [foretold] Foretold
        [came-up] Came up
       *[seeds] Seeds
    }
record-bin = Foretold { COUNT($low_pct) } to { PERCENT($high_pct) }
record-bin-sowings = { $sowings ->
        [one] 1 sowing
       *[other] { COUNT($sowings) } sowings
    }
record-bin-foretold = { PERCENT($pct) } on the mean
record-bin-came-up = { PERCENT($pct) } on the mean{ $low_pct ->
        [unknown] { "" }
       *[other] { " " }({ COUNT($low_pct) } to { PERCENT($high_pct) })
    }
record-expected = { COUNT($seeds) } ({ COUNT($low) } to { COUNT($high) })
record-came-up = { COUNT($seeds) }{ $outside ->
        [yes] , outside
       *[no] { "" }
    }
record-alt-none = No sowing is finished and counted yet, so there is nothing to judge by.
record-alt = Of { COUNT($sowings) } sowings { PERCENT($inside_pct) } came up within their 90 % interval (likely { COUNT($low_pct) } to { PERCENT($high_pct) } in the long run){ $error_points ->
        [unknown] { "" }
       *[other] ; on average { DECIMALS($error_points) } in 100 seeds { $more ->
            [yes] more
           *[no] fewer
        } than foretold
    }.{ $all_drawn ->
        [yes] { "" }
       *[no] { " " }The latest { COUNT($drawn) } are drawn.
    }
record-saved-title = Seed sown against seed advised
record-saved-alt = Over { $sowings ->
        [one] 1 sowing
       *[other] { COUNT($sowings) } sowings
    } { COUNT($seeds_sown) } seeds were sown where { COUNT($seeds_advised) } were advised: { COUNT($seeds_saved) } could have been saved on { COUNT($oversown) } sown too thickly, and { COUNT($seeds_short) } were lacking on { COUNT($undersown) } sown too thinly.
record-saved-over = Over these sowings
record-saved-bar = { $value ->
        [sown] sown
       *[advised] advised
    }
record-saved-row = { $value ->
        [sown] sown
        [advised] advised for the plants wanted
        [beyond] sown beyond advice, { $oversown ->
            [one] 1 sowing
           *[other] { COUNT($oversown) } sowings
        }
       *[short] short of advice, { $undersown ->
            [one] 1 sowing
           *[other] { COUNT($undersown) } sowings
        }
    }

# Notes that are kept.

undoes-test = undoes test { $number }
undoes-sowing = undoes sowing { $number }

variety-planted-not-sown = Of { $value } there is planting stock alone: it is planted, a piece for each plant.
    .mend = Book the pieces planted as sown.

# What commands tell of sowings, and take for the name of one.
sowing-told = Sowing { $sowing } of lot { $lot }, { $variety }: { $seeds ->
        [one] 1 seed
       *[other] { COUNT($seeds) } seeds
    } sown { DAY($sown_on) } { $method }. { $up ->
        [none] Nothing was counted yet.
       *[other] Up: { $up }, { $share }.
    }{ $finished ->
        [none] { "" }
       *[other] { " " }Finished { $finished }.
    }
sowing-undone = Sowing { $sowing } of lot { $lot } is taken back; its seed is in the packet again.
sown-in-seeds = Seed sown is told in seeds, not grams.
    .mend = Write the code and the seeds, like 4K7PM:120.
sow-which-lot = Which lot of { $words } is to be sown?
sow-how-chosen = Ask again by its code, like: seedbank sowing advise { $lot }
