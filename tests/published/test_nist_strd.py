"""The least-squares solver against NIST's certified values.

Source: NIST/ITL Statistical Reference Datasets, linear regression,
https://www.itl.nist.gov/div898/strd/lls/lls.shtml. Norris.dat as shipped inside SciPy
(scipy/stats/tests/data/nist_linregress/Norris.dat); the other sets and their certified values as
quoted, with the same digits, by several public test suites of numerical libraries.
"""

import numpy as np
import pytest

from alignment.geometry.gls import least_squares

NORRIS = """
0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5  668.5 666.3  998.5 996.3
449.1 448.6  778.9 777.0  559.2 558.2  0.3 0.4  0.1 0.6  778.1 775.5  668.8 666.9  339.3 338.0
448.9 447.5  10.8 11.6  557.7 556.0  228.3 228.1  998.0 995.8  888.8 887.6  119.6 120.2  0.3 0.3
0.6 0.3  557.6 556.8  339.3 339.1  888.0 887.2  998.5 999.0  778.9 779.0  10.2 11.1  117.6 118.3
228.9 229.2  668.4 669.1  449.2 448.9  0.2 0.5
"""
PONTIUS_Y = """
.11019 .21956 .32949 .43899 .54803 .65694 .76562 .87487 .98292 1.09146 1.20001 1.30822 1.41599
1.52399 1.63194 1.73947 1.84646 1.95392 2.06128 2.16844 .11052 .22018 .32939 .43886 .54798 .65739
.76596 .87474 .98300 1.09150 1.20004 1.30818 1.41613 1.52408 1.63159 1.73965 1.84696 1.95445
2.06177 2.16829
"""
LONGLEY = """
60323 83.0 234289 2356 1590 107608 1947  61122 88.5 259426 2325 1456 108632 1948
60171 88.2 258054 3682 1616 109773 1949  61187 89.5 284599 3351 1650 110929 1950
63221 96.2 328975 2099 3099 112075 1951  63639 98.1 346999 1932 3594 113270 1952
64989 99.0 365385 1870 3547 115094 1953  63761 100.0 363112 3578 3350 116219 1954
66019 101.2 397469 2904 3048 117388 1955  67857 104.6 419180 2822 2857 118734 1956
68169 108.4 442769 2936 2798 120445 1957  66513 110.8 444546 4681 2637 121950 1958
68655 112.6 482704 3813 2552 123366 1959  69564 114.2 502601 3931 2514 125368 1960
69331 115.7 518173 4806 2572 127852 1961  70551 116.9 554894 4007 2827 130081 1962
"""
WAMPLER_Y = {
    1: "1 6 63 364 1365 3906 9331 19608 37449 66430 111111 177156 271453 402234 579195 813616 "
    "1118481 1508598 2000719 2613660 3368421",
    2: "1 1.11111 1.24992 1.42753 1.65984 1.96875 2.38336 2.94117 3.68928 4.68559 6 7.71561 "
    "9.92992 12.75603 16.32384 20.78125 26.29536 33.05367 41.26528 51.16209 63",
    3: "760 -2042 2111 -1684 3888 1858 11379 17560 39287 64382 113159 175108 273291 400186 581243 "
    "811568 1121004 1506550 2002767 2611612 3369180",
    4: "75901 -204794 204863 -204436 253665 -200894 214131 -185192 221249 -138370 315911 -27644 "
    "455253 197434 783995 608816 1370781 1303798 2205519 2408860 3444321",
    5: "7590001 -20479994 20480063 -20479636 25231365 -20476094 20489331 -20460392 18417449 "
    "-20413570 20591111 -20302844 18651453 -20077766 21059195 -19666384 26348481 -18971402 "
    "22480719 -17866340 10958421",
}
WAMPLER_SD = np.array(
    [
        2152.32624678170,
        2363.55173469681,
        779.343524331583,
        101.475507550350,
        5.64566512170752,
        0.112324854679312,
    ]
)


def numbers(text):
    return np.array(text.split(), float)


def powers(x, highest):
    return x[:, None] ** np.arange(highest + 1)


def norris():
    y, x = numbers(NORRIS).reshape(-1, 2).T
    return powers(x, 1), y


def longley():
    table = numbers(LONGLEY).reshape(-1, 7)
    return np.column_stack([np.ones(16), table[:, 1:]]), table[:, 0]


def pontius():
    x = np.tile(np.arange(150_000.0, 3_000_001.0, 150_000.0), 2)
    return powers(x, 2), numbers(PONTIUS_Y)


def noint1():
    return np.arange(60.0, 71.0)[:, None], np.arange(130.0, 141.0)


def noint2():
    return np.array([[4.0], [5.0], [6.0]]), np.array([3.0, 4.0, 4.0])


CERTIFIED = {
    "Norris": (
        norris,
        [-0.262323073774029, 1.00211681802045],
        [0.232818234301152, 0.429796848199937e-03],
        0.884796396144373,
    ),
    "NoInt1": (noint1, [2.07438016528926], [0.165289256198347e-01], 3.56753034006338),
    "NoInt2": (noint2, [0.727272727272727], [0.420827318078432e-01], 0.369274472937998),
    "Pontius": (
        pontius,
        [0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14],
        [0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16],
        0.205177424076185e-03,
    ),
    "Longley": (
        longley,
        [
            -3482258.63459582,
            15.0618722713733,
            -0.358191792925910e-01,
            -2.02022980381683,
            -1.03322686717359,
            -0.511041056535807e-01,
            1829.15146461355,
        ],
        [
            890420.383607373,
            84.9149257747669,
            0.334910077722432e-01,
            0.488399681651699,
            0.214274163161675,
            0.226073200069370,
            455.478499142212,
        ],
        304.854073561965,
    ),
}


# Univariate sets: data, certified mean, certified standard deviation.
UNIVARIATE = {
    "NumAcc1": ("10000001 10000003 10000002", 10000002.0, 1.0),
    "NumAcc2": ("1.2" + " 1.1 1.3" * 500, 1.2, 0.1),
    "NumAcc3": ("1000000.2" + " 1000000.1 1000000.3" * 500, 1000000.2, 0.1),
    "NumAcc4": ("10000000.2" + " 10000000.1 10000000.3" * 500, 10000000.2, 0.1),
}


@pytest.mark.parametrize("name", UNIVARIATE)
def test_a_mean_and_its_scatter_survive_a_large_offset(name):
    """https://www.itl.nist.gov/div898/strd/univ/: made to show the digits lost by cancelling; the
    last keeps 8 of its 15, what decimals of 10,000,000.1 leave in a binary number."""
    text, mean, deviation = UNIVARIATE[name]
    observed = numbers(text)
    fit = least_squares(np.ones((len(observed), 1)), observed)
    assert fit.estimate[0] == pytest.approx(mean, rel=1e-14)
    assert residual_scale(fit) == pytest.approx(deviation, rel=1e-8)


@pytest.mark.parametrize("name", CERTIFIED)
def test_estimates_agree_with_the_certified_values_to_nine_digits(name):
    problem, estimate, _, _ = CERTIFIED[name]
    np.testing.assert_allclose(least_squares(*problem()).estimate, estimate, rtol=1e-9)


def residual_scale(fit):
    """Standard deviation of the residuals."""
    return np.sqrt(fit.residual_sum / fit.dof)


def standard_error(fit):
    """Of each parameter, scaled by the residuals as NIST does."""
    return residual_scale(fit) * np.sqrt(np.diagonal(fit.unscaled_covariance))


@pytest.mark.parametrize("name", CERTIFIED)
def test_standard_deviations_of_the_estimates_agree_to_nine_digits(name):
    problem, _, deviation, _ = CERTIFIED[name]
    np.testing.assert_allclose(standard_error(least_squares(*problem())), deviation, rtol=1e-9)


@pytest.mark.parametrize("name", CERTIFIED)
def test_the_residual_standard_deviation_agrees_to_nine_digits(name):
    problem, _, _, scale = CERTIFIED[name]
    assert residual_scale(least_squares(*problem())) == pytest.approx(scale, rel=1e-9)


@pytest.mark.parametrize(("number", "enlarged"), [(1, 0), (2, 0), (3, 1), (4, 100), (5, 10_000)])
def test_wampler_polynomials_agree_to_the_digits_their_noise_leaves(number, enlarged):
    """Wampler4 and 5 bury coefficients of 1 under errors of 1e5 and 1e7 on purpose."""
    fit = least_squares(powers(np.arange(21.0), 5), numbers(WAMPLER_Y[number]))
    expected = 0.1 ** np.arange(6) if number == 2 else np.ones(6)
    np.testing.assert_allclose(fit.estimate, expected, rtol=1e-9 * max(enlarged, 1))


@pytest.mark.parametrize(("number", "enlarged"), [(3, 1), (4, 100), (5, 10_000)])
def test_wampler_standard_deviations_agree_to_nine_digits(number, enlarged):
    fit = least_squares(powers(np.arange(21.0), 5), numbers(WAMPLER_Y[number]))
    np.testing.assert_allclose(standard_error(fit), WAMPLER_SD * enlarged, rtol=1e-9)


def test_the_covariance_of_norris_with_unit_weights_is_the_published_one():
    """Source: the fit tests of the GNU Scientific Library, unit weights, not scaled."""
    design, observed = norris()
    covariance = least_squares(design, observed, np.ones(36)).unscaled_covariance
    expected = [
        [6.92384428759429e-02, -9.89095016390515e-05],
        [-9.89095016390515e-05, 2.35960747164148e-07],
    ]
    np.testing.assert_allclose(covariance, expected, rtol=1e-12)


def test_norris_repeated_in_a_batch_gives_the_same_answer_in_each_place():
    design, observed = norris()
    fit = least_squares(np.stack([design] * 3), np.stack([observed] * 3))
    np.testing.assert_allclose(fit.estimate, [CERTIFIED["Norris"][1]] * 3, rtol=1e-9)
