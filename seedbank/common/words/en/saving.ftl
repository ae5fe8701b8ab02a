# What flowers and crosses, what is next of a seed crop, and drift (science.crossing, science.saving).

flowering-window = { DAY_OF_YEAR($from_day) } to { DAY_OF_YEAR($to_day) }
flowering-windows = { $windows }

stand-name = { $what ->
        [seed-crop] { $kind } grown for seed
        [left-to-run] { $kind } left to run to seed
        [self-sown] self-sown { $kind }
        [neighbour] neighbouring { $kind }
       *[wild] wild { $kind }
    } { stand-place }
stand-of-variety = { $variety } ({ $kind }) { stand-place }
stand-place = { $what ->
        [neighbour] near { $site }
        [wild] near { $site }
       *[other] at { $site }
    }

stop-flowering = { $what ->
        [seed-crop] Take the flowers off { $name } before { stop-day }, and all that follow
        [left-to-run] Cut or pull { $name } before { stop-day }
        [self-sown] Pull { $name } before { stop-day }
        [neighbour] Ask your neighbour to cut { $name } before { stop-day }
       *[wild] Cut { $name } within reach before { stop-day }, and again as it comes back
    }.
stop-day = { $before_day ->
        [unknown] the seed crop opens
       *[other] { DAY_OF_YEAR($before_day) }
    }
another-year = Save { $name } or { $other } in another year.
cage = Cage the seed parents{ $with_insects ->
        [yes] { " " }with insects
       *[no] { "" }
    }.
hand-pollination = Pollinate by hand, flowers closed the evening before and again afterwards.
bag = Bag flower trusses before they open.
move = { $what ->
        [wild] Grow { $name } at least { METRES($required_m) } away from { $other }.
       *[other] Grow the two at least { METRES($required_m) } apart.
    }
kept-apart-by = { $way ->
        [another-year] another year
        [cage] a cage
        [hand-pollination] hand pollination
        [bag] bags
        [time] time of flowering
       *[distance] distance
    }
no-day-to-cut = No day of cutting { $name } ends the risk: { $ways_number ->
        [one] only { $ways } keeps them apart
       *[other] each of these keeps them apart: { $ways }
    }.

distance-assumed = No distance is known for this kind: kinds that mate like it are kept { METRES($least_m) } to { METRES($required_m) } apart, and the most of that is asked.
own-window-unknown = When it flowers is not known: it is taken to flower with everything listed.
cage-lets-wind-through = The wind carries its pollen through a cage's netting: a cage does not isolate it.
cage-needs-insects = A cage keeps out the insects it needs: bring pollinators into the cage, or little seed will set.
bag-starves-wind-crop = Bags do not serve a crop pollinated by wind over many plants: bagged plants get no pollen from each other.
bag-needs-hand = No insect gets under a bag: carry pollen between the plants by hand, or little seed will set.
hand-covers-flowers = Flowers must stay covered before and after the hand work; that serves maize, not small flowers like those of beet or spinach.
distance-unknown = How far off { $name } stands is not known: it is taken as side by side.
window-unknown = When { $name } flowers is not known: it is taken as the same days.
gap-short = Only { COUNT($gap_days) } { $gap_days ->
        [one] day lies
       *[other] days lie
    } between it and { $name }: watch both, seasons differ.

exposure = { $name } ({ $likelihood ->
        [likely] likely
       *[unlikely] unlikely
    }; { $distance_m ->
        [unknown] distance unknown
       *[other] { METRES($distance_m) }
    }, { METRES($required_m) } asked; { $window ->
        [unknown] up to { COUNT($shared_days) }
       *[known] { COUNT($shared_days) }
    } { $shared_days ->
        [one] day
       *[other] days
    } in flower together)
exposures-more = { COUNT($more) } more
crossing-risk = Risk of crossing with { $exposures }.
isolated-alone = Isolated: nothing else that crosses with it is known to flower within reach.
isolated-and-kept-by = Isolated: nothing else that crosses with it is known to flower within reach, and kept by { $ways }.
isolated-by = Isolated by { $ways } from all that is known to flower and may cross with it.
crossing-not-noted = Nothing that crosses with it was noted to flower in { YEAR($year) }, and no isolation.
crossing-inherited = Its parent lot { $parent } ran a risk of crossing. { $note }


too-few-parents = { saved-from } It crosses, so few parents make it weak and uneven over the generations.
few-parents = { saved-from }
saved-from = It was saved from { COUNT($parents) } { $parents ->
        [one] plant
       *[other] plants
    }; { COUNT($parents_to_maintain) } are asked to maintain the kind.
inbreeding = It was kept as on { COUNT($effective_number) } { $effective_number ->
        [one] plant
       *[other] plants
    } a generation: inbreeding grows by { CHANCE($inbreeding_each_generation) } each time. A rule of thumb asks for
    { COUNT($short_term_number) } to hold it off, and { COUNT($long_term_number) } to stay adaptable for good.
diversity-lost = Of its founders' diversity { ABOUT($lost) } is gone.{ $mating ->
        [selfing] { "" }
       *[other] { " " }Seed of another keeper's line of the same variety would bring some back.
    }
parents-uncounted = The parents of about { COUNT($generations) } of its generations were not counted: more may be gone than this shows.
lost-before-flowering = before flowering
lost-over-winter = over winter
lost-by-roguing = by roguing

crop-through-winter = Sown; it flowers in { YEAR($year) }. See the plants through the winter.
crop-past = It flowered in { YEAR($year) }: record its harvest, or that it failed.
crop-not-sown = Planned and not sown yet.
crop-to-sow = To be sown { $ahead_days ->
        [0] today
        [one] in { COUNT($ahead_days) } day
       *[other] in { COUNT($ahead_days) } days
    }.
crop-sow-late = It was to be sown { COUNT($late_days) } { $late_days ->
        [one] day
       *[other] days
    } ago.
crop-ripening = Its flowering is over: harvest it as the seed ripens.
crop-in-flower = It is in flower: mind its isolation, and pull out what isn't true.
crop-before-flower = It flowers this year: before the first flower opens pull out untrue plants, { $isolation ->
        [distance] keep what crosses with it from flowering within reach
        [time] see that nothing that crosses with it flowers at the same time
        [cage] put up its cage
        [bag] bag its flowers
        [hand-pollination] close the flowers to be pollinated by hand
        [only-variety] see that no other variety of it flowers
       *[unknown] say how it is kept from crossing
    }.

# What the room saving says.

distance-to-same-site = { cannot-be }
    .mend = Name two different sites.
distance-negative = { cannot-be }
    .mend = Give 0 or more.

day-of-other-year = { cannot-be }
    .mend = Give a day of { $year }.
flowering-window-stated-meanwhile = A window for this kind was stated just now.
    .mend = Read it, and state yours again if it differs.
variety-of-another-kind = { $variety } is of another kind.
    .mend = Leave kind out: the variety tells it.
distance-of-own-stand = What stands on the site itself is at no distance from it.
    .mend = Leave it out, or say that the plants are a neighbour's or wild.

site-name-taken = There already is a site called { $site }.
    .mend = Use that site, or give this one a name of its own.
gear-name-taken = There already is gear called { $gear }.
    .mend = Count these among it, or give them a name of their own.
site-in-use = Seed crops, flowerings, windows or pins name { $site }.
    .mend = Leave the site listed, or take those out first.
gear-in-use = Seed crops were isolated with { $gear }; their record needs it.
    .mend = Leave it listed.
distance-to-itself = { cannot-be }
    .mend = Name another site than this one.

more-parents-than-started = { $rogued } rogued and { $kept } kept are more than the { $started } started.
    .mend = Of { $started } plants started and { $rogued } rogued at most { $max } can be kept.
lot-of-another-variety = Lot { $value } is of another variety.
    .mend = Name a lot of the seed crop's own variety.
flowers-before-sowing = { cannot-be }
    .mend = Give { $year } or later: it is sown then.
gear-of-other-isolation = { $gear } don't serve isolation by { isolation-way }.
    .mend = Leave it out, or isolate by { ONE_OF($serves) }.
seed-crop-sown-already = This seed crop was sown on { DAY($sown_on) }.
    .mend = Record a second sowing under /sowings, or begin another seed crop.
seed-crop-harvested = A lot was harvested from this seed crop; its history needs it.
    .mend = Leave it listed.
no-lot-named = No lot is named.
    .mend = Name the lot the seeds are from.
seed-crop-not-sown = This seed crop is planned and not sown yet.
    .mend = Record the day it was sown first, in the past or today, and harvest it then.
no-parents-kept = { cannot-be }
    .mend = Say how many plants gave seed, or that the crop failed.
sowing-of-another-lot = { cannot-be }
    .mend = Name a sowing of the lot sown.
harvested-and-failed = { cannot-be }
    .mend = A crop was harvested or lost; leave one of the days out.
harvest-day-missing = { cannot-be }
    .mend = Write the day the lot was harvested.
why-failed-missing = { cannot-be }
    .mend = Say what happened.

-mend-harvest-day = Mend the day of harvest, the day it was sown, or the year it flowers.
seed-too-soon-after-sowing = It was sown { $days ->
        [one] 1 day
       *[other] { COUNT($days) } days
    } before. The fastest published from seed to seed is { $fastest_days ->
        [one] 1 day
       *[other] { COUNT($fastest_days) } days
    } ({ $source }).
    .mend = { -mend-harvest-day }
flowers-year-after = { $kind } flowers the year after it is sown, and it was sown in { $year }.
    .mend = { -mend-harvest-day }
seed-before-flower = { $kind } opens its first flower about { DAY_OF_YEAR($opens) } ({ $source }).
    .mend = { -mend-harvest-day }

last-flower-first = { comes-before }
    .mend = The last flower can't open before the first; mend one of the two days.
before-sowing = { comes-before }
    .mend = Give a day after the sowing.
harvest-before-flower = { comes-before }
    .mend = Mend this day, or the day the first flower was seen.
harvest-before-its-year = { comes-before }
    .mend = Mend this day, or the year it flowers.
seed-crop-over = This seed crop { $end ->
        [failed] failed
       *[harvested] was harvested
    } on { DAY($on) }.
    .mend = Only its notes on cleaning, drying and the rest can still be changed.

# Values that don't go together (forms).

kind-or-variety = Name a kind, or a variety.
variety-or-lot = Name a variety, or the lot to sow.

stand-noted = { $choice ->
        [left-to-run] left to run to seed
        [self-sown] self-sown
        [neighbour] a neighbour's
       *[wild] wild
    }

# What commands tell of seed crops, and take for the name of one.
crop-stage = { $choice ->
        [planned] planned
        [sown] sown
        [harvested] harvested
       *[failed] lost
    }
crop-told = Seed crop { $crop }, { $variety }{ $lot ->
        [none] { "" }
       *[other] { " " }from lot { $lot }
    }, at { $site }, flowers in { $year }: { $stage ->
        [planned] planned.
        [sown] sown { $sown_on }.
        [harvested] harvested { $harvested_on } as lot { $result }.
       *[failed] lost { $failed_on }.
    }
crop-harvested = Seed crop { $crop } is harvested as lot { $lot }: { $variety }, { $amount }.
crop-undone = Seed crop { $crop }, { $variety }, is taken out.
site-added = Site { $number } is added: { $site }.
no-site-called = { $sites ->
        [0] No site is listed yet.
       *[other] It isn't said which site is meant.
    }
    .mend = List them with seedbank site list, or add one with seedbank site add.
