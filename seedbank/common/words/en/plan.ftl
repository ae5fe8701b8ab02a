# What the saving plan and the supplies say (seedbank.plan).

sown = It is sown already and on record.
why-now = The chance that the best lot raises its { COUNT($parents) } seed parents is { CHANCE($now) } now and { CHANCE($next) } next year.
if-skipped = { $can_wait ->
        [yes] It could wait a year ({ CHANCE($loss) } or { CHANCE($loss_skipped) } chance of losing it by { YEAR($year) }), but there is room now; never saved, { CHANCE($loss_never) }.
       *[no] Skipped a year, the chance of losing it by { YEAR($year) } rises from { CHANCE($loss) } to { CHANCE($loss_skipped) }; never saved, it is { CHANCE($loss_never) }.
    }
isolate = { $isolation ->
        [distance] Keep it { METRES($required_m) } from anything else of its species in flower.
        [cage] Cage it{ $with_insects ->
            [yes] , with pollinators brought in.
           *[no] .
        }
        [bag] Bag its flowers before they open.
       *[hand-pollination] Pollinate by hand, flowers closed before and afterwards.
    }
two-years = Sow it this year: it flowers in { YEAR($flower_year) } { $may_flower_later ->
        [yes] at the earliest, and a perennial may take years longer; its seed is ready to sow the year after it flowers.
       *[no] and its seed is ready to sow in { YEAR($sow_year) }.
    }
purity-risk = Its seed may not be true. { $note }
may-have-crossed = It may have crossed.
keeps-badly = Stored where this lot is, new seed will most likely serve for only { COUNT($years) } { $years ->
        [one] year
       *[other] years
    }: keep it cooler and drier.

hybrid = F1 hybrids don't come true from saved seed: buy it again.
cannot-be-stored = Its seed can't be stored, so no plan over years can rest on it.
not-saved = It isn't a variety you save: no lot of it was saved here, and others keep it. Pin a year to grow it for seed all the same.
replaced-not-grown = Fresh seed of it costs less than a crop from what is left.
no-seed = No lot of it holds seed: get seed first.

no-site = No site is on record: one is assumed, with { SQUARE_METRES($bed_m2) } of seed bed.
the-garden = the garden
site-gone = a site no longer there
bed-not-measured = The seed bed of { $site } isn't measured: { SQUARE_METRES($bed_m2) } are assumed.
no-limit-set = No limit to the seed crops of a season is set.
sites-apart-unknown = How far { $site } is from { $other } isn't known: they are taken as side by side.
crop-not-standing = { $variety } was to be sown by now and isn't on record as sown: the plan takes it as not standing.
crop-stands-twice = { $variety } stands twice over from last year: the plan reckons with one crop.
plan-time-ran-out = Time ran out: this is the best plan found, and another may be better by up to { DECIMALS($gap_pct) } %. A longer time limit may close the gap.
plan-help-cut-short = Time ran out before all that might help was tried. A longer time limit tries more.
plan-curtailed = So many sites and years allow more seed crops than can be weighed: for { COUNT($varieties) } { $varieties ->
        [one] variety
       *[other] varieties
    } fewer than three crops each were considered. Fewer years would weigh them all.
plan-crops-fail = Of 100 seed crops { COUNT($pct) } are reckoned to fail, { COUNT($over_winter_pct) } of those that stand a winter, before isolation and crossing.
plan-each-spring = What neighbours will flower in later years isn't known yet: plan again each spring, and whenever a crop fails.

pin-left-out = Not in the plan. { $why }
pin-not-saved = No seed of this variety is saved by the plan.
pin-outside-plan = To flower in { YEAR($flower_year) } it is sown in { YEAR($sow_year) }, outside the plan.
pin-not-isolated = It can't be isolated by { $isolated_by } here, but by { $can }.
pin-not-kept = Not kept: it can't be had together with what else is settled.
pin-cost-unseen = Kept; time ran out before what it costs was seen.
pin-costs-little = Kept; if it costs anything, it is too little to tell.
pin-costs = Kept; it adds { DECIMALS($cost, digits: 3) } to the weighted chances of loss.

relief-done = { $kind ->
        [gear] One more { $name ->
            [bag] bag
           *[cage] cage
        }
        [bed] { SQUARE_METRES($amount) } more seed bed at { $name }
        [work] Room for one more seed crop a year
        [hand-over] Hand { $name } over to another keeper
        [home-isolation] Accept the isolation of home use for { $name }
       *[stop-flowering] Keep { $name } from flowering
    }
relief = { relief-done }.
relief-lowers = { relief-done }: { CHANCE($loss) } becomes { CHANCE($loss_after) }.
relief-saves = { relief-done }: { DECIMALS($saves, digits: 2) } less to lose{ $helps_number ->
        [0] .
       *[other] , above all { $helps }.
    }
no-relief = No room, gear or air here would help: seek other seed of it, and another keeper to try beside you.
exposed-all-but-dead = Its seed is all but dead: hardly any crop of it would come up.
exposed-late = { $year ->
        [unknown] The plan grows no seed crop of it
       *[other] Its first seed crop comes only in { YEAR($year) }
    }: { $why }.
hindered-by-rivals = { $rivals }, of its species, can't be kept apart from it here
hindered-by-limits = others need the room, the gear or the work more, or too much else would cross with it
exposed-weak = Even this year its best lot raises { COUNT($parents) } seed parents with a chance of only { CHANCE($chance) }.
exposed-may-fail = Its seed crops may fail, and its seed doesn't last long enough for another try.

order = { $saved ->
        [yes] Held is { PERCENT($now_pct) } of this season's sowing of { COUNT($plants) } plants.
       *[no] Held is { PERCENT($now_pct) } of this season's sowing of { COUNT($plants) } plants, and { PERCENT($next_pct) } of the next.
    }{ $left_out ->
        [0] { "" }
       *[other] { " " }{ COUNT($left_out) } seeds held are left out: as far as is known they are too weak for a row. A towel test may tell otherwise.
    } Get { COUNT($seeds) } seeds{ $grams ->
        [unknown] { "" }
       *[other] { " " }({ GRAMS($grams) })
    }, about { COUNT($packets) } { $packets ->
        [one] packet
       *[other] packets
    } of { COUNT($packet_seeds) }: { $for_now ->
        [0] { "" }
       *[other] { COUNT($for_now) } for this season,{ " " }
    }{ $for_next ->
        [0] { "" }
       *[other] { COUNT($for_next) } for the next,{ " " }
    }{ COUNT($again) } to sow gaps again{ $test ->
        [0] .
       *[other] , { COUNT($test) } to test.
    } { from-whom }
order-pieces = { COUNT($pieces) } pieces are held of the { COUNT($plants) } to plant. { from-whom }
from-whom = { $from ->
        [f1] Buy it: an F1 hybrid doesn't come true from saved seed.
        [few] Swap for it: few keep it, and shops won't have it.
        [none] Nobody else is known to keep it: ask around, and save seed before eating any.
       *[many] Buy it, or swap for it: many keep it.
    }
nothing-to-order = There is seed enough for this season's rows and the next one's.
sowings-as-today = Sowings are reckoned as made today, as is usual for each kind; ask for sowing advice nearer the day.
spare-counts = Spare seed counts after a usual sowing each season until your own new seed is in, or for { COUNT($seasons) } seasons of what isn't saved; the reserve; and { COUNT($tries) } seed crops of what is.

plan-working = Weighing the years
plan-heading-sow = Seed crops to sow in { YEAR($year) }, the rarest first
plan-lost-column = lost?: chance that the variety is lost by { YEAR($year) }
plan-nothing-to-sow = No seed crop needs sowing in { YEAR($year) }.
plan-heading-standing = Standing from last year, to flower now
plan-standing = { $variety } at { $site }, isolated by { $isolation }
plan-heading-stops = Keep from flowering
would-cross-with = { $stop } It would cross with { $varieties }.
plan-heading-exposed = Left exposed
plan-exposed = { $variety }, { CHANCE($loss) } likely to be lost. { $why } { $relief }
plan-heading-crop = { $variety }{ $lot ->
        [none] { "" }
       *[other] , lot { $lot }
    }, at { $site }
plan-raise = Raise { COUNT($plants) } plants to keep { COUNT($parents) } seed parents.
plan-heading-later = The years after, as things stand
plan-later = { YEAR($year) }: { $varieties }.
plan-heading-help = What would help
plan-heading-pins = Your pins
plan-pin = { $variety } in { YEAR($year) }: { $found }
plan-heading-left-out = Not planned for
plan-heading-sure = How sure
plan-proof = Weighted by rarity, { DECIMALS($loss, digits: 2) } varieties are likely to be lost by { YEAR($year) },
    { DECIMALS($loss_without, digits: 2) } if nothing were saved; no plan is better by more than { DECIMALS($gap_pct, digits: 2) } %.

supplies-working = Going through the collection
supplies-heading-sow = Sow for the plants wanted this year
supplies-heading-lacking = Seed to get
supplies-heading-spare = Seed that may be given away

# What the room plan says.

seed-crop-on-record = { $variety } is on record as a seed crop of { $flowers_in } already.
    .mend = Carry on with that one.

plan-without-site = The plan was made before any site was on record.
    .mend = Add the site it is to grow on, then make the plan anew.

plan-picture = Seed crops planned, { YEAR($first_year) } to { YEAR($last_year) }
plan-picture-empty = No seed crop is planned from { YEAR($first_year) } to { YEAR($last_year) }.
plan-picture-year = { COUNT($crops) } in { YEAR($year) }
plan-picture-told = { COUNT($crops) } seed { $crops ->
        [one] crop
       *[other] crops
    } of { COUNT($varieties) } { $varieties ->
        [one] variety
       *[other] varieties
    }: sown { $by_year }. The letter says how each is kept apart.{ $all_drawn ->
        [yes] { "" }
       *[no] { " " }The first { COUNT($drawn) } varieties are drawn.
    }
plan-picture-column = { $choice ->
        [variety] Variety
        [sown] Sown
        [flowers] Flowers
        [where] Where
       *[kept-apart-by] Kept apart by
    }
plan-picture-letter = { $way ->
        [distance] D
        [time] T
        [cage] C
        [bag] B
        [hand-pollination] H
        [only-variety] O
        [none] –
       *[unknown] ?
    }
plan-picture-key = { plan-picture-letter } { isolation-way }

mixture-not-saved = It is a mixture, of which no seed comes true.
planted-not-saved = It is kept as planting stock, which comes true: plant it, and no seed crop is needed.

no-plan-kept = No plan was kept yet.
    .mend = Make one, and keep it: seedbank plan make --keep.
