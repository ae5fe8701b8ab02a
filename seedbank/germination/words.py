"""The gardener's words for what a seed of a germination test is judged to be."""

from seedbank.science.germination.germination import SeedClass

CLASSES = {
    SeedClass.NORMAL: "Normal",
    SeedClass.ABNORMAL: "Abnormal",
    SeedClass.HARD: "Hard",
    SeedClass.FRESH: "Fresh",
    SeedClass.DEAD: "Dead",
}
