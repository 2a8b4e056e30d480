"""Exact intervals and tests, by reference libraries.

    pip install scipy==1.17.1 statsmodels==0.15.0
    python tests/reference/make_listening_table.py
"""

import pathlib

from scipy import stats
from statsmodels.stats.proportion import proportion_confint


def main():
    lines = ["# By make_listening_table.py (scipy 1.17.1, statsmodels 0.15.0): what,arguments,values"]

    def line(what, arguments, values):
        numbers = " ".join(repr(float(value)) for value in values)
        lines.append(f"{what},{' '.join(map(str, arguments))},{numbers}")

    for hits, trials, confidence in [
        (0, 1, 0.95), (1, 1, 0.95), (0, 10, 0.95), (3, 10, 0.95), (10, 10, 0.95), (7, 150, 0.95),
        (75, 150, 0.99), (149, 150, 0.95), (2, 4000, 0.95), (1234, 4000, 0.9),
    ]:
        limits = proportion_confint(hits, trials, alpha=1 - confidence, method="beta")
        line("share_interval", (hits, trials, confidence), limits)
    for hits, trials, chance in [(1, 5, 0.01), (2, 5, 0.01), (3, 150, 0.01), (9, 150, 0.01), (80, 150, 0.5), (40, 4000, 0.01)]:
        line("at_least", (hits, trials, chance), [stats.binom.sf(hits - 1, trials, chance)])
    for first, second in [((8, 10), (1, 12)), ((3, 3), (0, 3)), ((5, 20), (4, 20)), ((0, 9), (7, 11)), ((60, 70), (2, 75)), ((1, 1), (0, 1))]:
        table = [[first[0], first[1] - first[0]], [second[0], second[1] - second[0]]]
        line("more_in_first", (*first, *second), [stats.fisher_exact(table, alternative="greater").pvalue])
    for confidence in (0.9, 0.95, 0.99):
        for freedom in (1, 2, 5, 5.5, 30, 299):
            line("student", (confidence, freedom), [stats.t.ppf((1 + confidence) / 2, freedom)])
    for count in (6, 7, 20, 51, 150):
        values = [float(value) for value in range(count)]
        interval = stats.quantile_test(values, p=0.5, q=0).confidence_interval(0.95)
        line("middle", (count, 0.95), [interval.low, interval.high])
    file = pathlib.Path(__file__).with_name("listening.csv")
    file.write_text("\n".join(lines) + "\n")


main()
