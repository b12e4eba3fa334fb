#include "sim/numeric/pareto_goodness.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

// Distances that are exceeded with these probabilities, one row for each shape from -0.5 to 1 in steps of 0.1: those of
// the limiting Gaussian process, whose covariance is min(s, t) - s t - g(s)' V g(t), g being the derivatives of the
// distribution function by the parameters and V the inverse information. Its eigenvalues by Gauss-Legendre quadrature,
// the probabilities by Imhof's inversion (Biometrika 48, 1961). All 72 values of Choulakian and Stephens' table 2 for
// Anderson and Darling's distance with both parameters estimated are met, see the test.
constexpr std::array probabilities{0.99, 0.95, 0.9, 0.8,  0.7,   0.6,  0.5,   0.4,   0.3,
                                   0.2,  0.15, 0.1, 0.05, 0.025, 0.01, 0.005, 0.001, 0.0001};
using Row = std::array<double, probabilities.size()>;
using Table = std::array<Row, 16>;
constexpr double first_shape = -0.5, shape_step = 0.1;

constexpr Table anderson_darling{
    Row{0.1592, 0.2137, 0.2533, 0.3149, 0.3715, 0.4303, 0.4958, 0.5734, 0.6724, 0.8131, 0.9148, 1.0613, 1.3206, 1.5899,
        1.9580, 2.2434, 2.9219, 3.9163},
    Row{0.1539, 0.2055, 0.2427, 0.3003, 0.3530, 0.4075, 0.4680, 0.5395, 0.6304, 0.7591, 0.8518, 0.9853, 1.2209, 1.4653,
        1.7993, 2.0582, 2.6738, 3.5764},
    Row{0.1494, 0.1986, 0.2338, 0.2881, 0.3377, 0.3887, 0.4452, 0.5117, 0.5960, 0.7150, 0.8007, 0.9236, 1.1404, 1.3649,
        1.6716, 1.9093, 2.4746, 3.3036},
    Row{0.1456, 0.1927, 0.2263, 0.2779, 0.3249, 0.3730, 0.4262, 0.4886, 0.5676, 0.6788, 0.7586, 0.8730, 1.0744, 1.2828,
        1.5672, 1.7877, 2.3121, 3.0812},
    Row{0.1424, 0.1878, 0.2200, 0.2694, 0.3141, 0.3599, 0.4103, 0.4694, 0.5440, 0.6486, 0.7236, 0.8310, 1.0197, 1.2148,
        1.4809, 1.6871, 2.1776, 2.8972},
    Row{0.1397, 0.1836, 0.2147, 0.2622, 0.3051, 0.3489, 0.3970, 0.4533, 0.5241, 0.6234, 0.6944, 0.7959, 0.9740, 1.1579,
        1.4086, 1.6030, 2.0651, 2.7432},
    Row{0.1374, 0.1801, 0.2102, 0.2562, 0.2975, 0.3396, 0.3858, 0.4397, 0.5074, 0.6021, 0.6697, 0.7662, 0.9354, 1.1099,
        1.3476, 1.5319, 1.9700, 2.6130},
    Row{0.1355, 0.1772, 0.2065, 0.2511, 0.2911, 0.3318, 0.3763, 0.4282, 0.4932, 0.5840, 0.6487, 0.7410, 0.9026, 1.0690,
        1.2957, 1.4713, 1.8889, 2.5019},
    Row{0.1339, 0.1747, 0.2033, 0.2468, 0.2856, 0.3251, 0.3682, 0.4184, 0.4812, 0.5686, 0.6309, 0.7196, 0.8746, 1.0341,
        1.2512, 1.4194, 1.8194, 2.4065},
    Row{0.1326, 0.1726, 0.2007, 0.2431, 0.2810, 0.3195, 0.3614, 0.4101, 0.4709, 0.5555, 0.6156, 0.7011, 0.8505, 1.0041,
        1.2130, 1.3747, 1.7594, 2.3241},
    Row{0.1315, 0.1709, 0.1984, 0.2400, 0.2771, 0.3147, 0.3555, 0.4029, 0.4621, 0.5442, 0.6024, 0.6853, 0.8297, 0.9781,
        1.1798, 1.3360, 1.7073, 2.2525},
    Row{0.1306, 0.1694, 0.1965, 0.2374, 0.2738, 0.3105, 0.3505, 0.3968, 0.4545, 0.5345, 0.5911, 0.6716, 0.8118, 0.9557,
        1.1511, 1.3024, 1.6621, 2.1902},
    Row{0.1298, 0.1682, 0.1949, 0.2352, 0.2709, 0.3070, 0.3462, 0.3916, 0.4480, 0.5261, 0.5814, 0.6598, 0.7963, 0.9362,
        1.1262, 1.2731, 1.6226, 2.1358},
    Row{0.1291, 0.1671, 0.1935, 0.2333, 0.2685, 0.3041, 0.3426, 0.3871, 0.4424, 0.5189, 0.5730, 0.6496, 0.7828, 0.9193,
        1.1045, 1.2477, 1.5882, 2.0882},
    Row{0.1286, 0.1662, 0.1924, 0.2317, 0.2665, 0.3015, 0.3395, 0.3833, 0.4376, 0.5127, 0.5657, 0.6408, 0.7712, 0.9046,
        1.0856, 1.2255, 1.5581, 2.0466},
    Row{0.1281, 0.1655, 0.1914, 0.2303, 0.2647, 0.2993, 0.3368, 0.3800, 0.4335, 0.5073, 0.5594, 0.6332, 0.7611, 0.8919,
        1.0691, 1.2062, 1.5319, 2.0102},
};

constexpr Table cramer_von_mises{
    Row{0.02005, 0.02801, 0.03401, 0.04369, 0.05289, 0.06267, 0.07379, 0.08721, 0.10461, 0.12968, 0.14796, 0.17445,
        0.22154, 0.27055, 0.33758, 0.38953, 0.51295, 0.69372},
    Row{0.01939, 0.02690, 0.03252, 0.04151, 0.04999, 0.05895, 0.06908, 0.08124, 0.09691, 0.11937, 0.13567, 0.15921,
        0.20090, 0.24419, 0.30334, 0.34919, 0.45814, 0.61779},
    Row{0.01881, 0.02593, 0.03122, 0.03963, 0.04751, 0.05580, 0.06512, 0.07626, 0.09055, 0.11093, 0.12566, 0.14687,
        0.18432, 0.22310, 0.27603, 0.31705, 0.41454, 0.55746},
    Row{0.01830, 0.02508, 0.03009, 0.03802, 0.04540, 0.05312, 0.06178, 0.07209, 0.08526, 0.10396, 0.11744, 0.13680,
        0.17086, 0.20607, 0.25405, 0.29121, 0.37956, 0.50912},
    Row{0.01784, 0.02434, 0.02911, 0.03662, 0.04359, 0.05085, 0.05896, 0.06858, 0.08084, 0.09818, 0.11065, 0.12851,
        0.15986, 0.19219, 0.23621, 0.27028, 0.35127, 0.47008},
    Row{0.01744, 0.02369, 0.02825, 0.03542, 0.04203, 0.04891, 0.05656, 0.06562, 0.07713, 0.09336, 0.10500, 0.12165,
        0.15081, 0.18082, 0.22163, 0.25320, 0.32824, 0.43834},
    Row{0.01709, 0.02312, 0.02751, 0.03438, 0.04070, 0.04725, 0.05453, 0.06312, 0.07401, 0.08933, 0.10029, 0.11594,
        0.14332, 0.17145, 0.20965, 0.23919, 0.30938, 0.41238},
    Row{0.01678, 0.02263, 0.02688, 0.03350, 0.03957, 0.04585, 0.05281, 0.06101, 0.07138, 0.08594, 0.09635, 0.11119,
        0.13709, 0.16368, 0.19975, 0.22763, 0.29386, 0.39105},
    Row{0.01651, 0.02221, 0.02633, 0.03274, 0.03860, 0.04465, 0.05135, 0.05922, 0.06916, 0.08310, 0.09304, 0.10721,
        0.13191, 0.15722, 0.19154, 0.21806, 0.28103, 0.37344},
    Row{0.01628, 0.02185, 0.02587, 0.03209, 0.03778, 0.04364, 0.05011, 0.05772, 0.06730, 0.08071, 0.09027, 0.10388,
        0.12758, 0.15185, 0.18472, 0.21011, 0.27040, 0.35887},
    Row{0.01609, 0.02155, 0.02547, 0.03155, 0.03709, 0.04279, 0.04907, 0.05645, 0.06573, 0.07870, 0.08794, 0.10109,
        0.12396, 0.14736, 0.17905, 0.20351, 0.26158, 0.34680},
    Row{0.01593, 0.02129, 0.02514, 0.03109, 0.03650, 0.04207, 0.04820, 0.05538, 0.06441, 0.07702, 0.08600, 0.09875,
        0.12094, 0.14363, 0.17433, 0.19802, 0.25427, 0.33681},
    Row{0.01579, 0.02107, 0.02486, 0.03071, 0.03602, 0.04147, 0.04746, 0.05449, 0.06331, 0.07562, 0.08437, 0.09681,
        0.11843, 0.14052, 0.17041, 0.19348, 0.24823, 0.32856},
    Row{0.01568, 0.02090, 0.02463, 0.03039, 0.03561, 0.04097, 0.04686, 0.05375, 0.06240, 0.07445, 0.08303, 0.09520,
        0.11634, 0.13795, 0.16718, 0.18974, 0.24326, 0.32179},
    Row{0.01559, 0.02075, 0.02444, 0.03013, 0.03528, 0.04055, 0.04635, 0.05313, 0.06164, 0.07349, 0.08191, 0.09387,
        0.11463, 0.13585, 0.16454, 0.18667, 0.23920, 0.31628},
    Row{0.01552, 0.02063, 0.02429, 0.02991, 0.03501, 0.04022, 0.04594, 0.05263, 0.06102, 0.07271, 0.08101, 0.09279,
        0.11324, 0.13414, 0.16240, 0.18420, 0.23594, 0.31186},
};

/// The row of a shape, between two of the table's.
Row row_of(const Table& table, double shape) {
    const double place = std::clamp((shape - first_shape) / shape_step, 0.0, static_cast<double>(table.size() - 1));
    const std::size_t below = std::min(static_cast<std::size_t>(place), table.size() - 2);
    const double part = place - static_cast<double>(below);
    Row row{};
    for (std::size_t i = 0; i < row.size(); ++i) row[i] = (1.0 - part) * table[below][i] + part * table[below + 1][i];
    return row;
}

/// log p is nearly linear in the distance: exactly so far out, where the largest eigenvalue decides.
double p_in(const Row& row, double value) {
    std::size_t above = 1;
    while (above + 1 < row.size() && row[above] < value) ++above;
    const double low = portable_log(probabilities[above - 1]), high = portable_log(probabilities[above]);
    const double part = (value - row[above - 1]) / (row[above] - row[above - 1]);
    constexpr double most = 0.999;  // nearer to 1 the table does not reach
    return std::min(most, portable_exp(low + part * (high - low)));
}

}  // namespace

double anderson_darling_p(double value, double shape) { return p_in(row_of(anderson_darling, shape), value); }
double cramer_von_mises_p(double value, double shape) { return p_in(row_of(cramer_von_mises, shape), value); }

ParetoGoodness pareto_goodness(const std::vector<double>& above, double shape) {
    ParetoGoodness found;
    const std::size_t count = above.size();
    const auto n = static_cast<double>(count);
    double logs = 0.0, squares = 0.0;
    for (std::size_t i = 0; i < count; ++i) {
        const double odd = 2.0 * static_cast<double>(i) + 1.0;
        logs += odd * (portable_log1p(-above[i]) + portable_log(above[count - 1 - i]));
        const double off = 1.0 - above[i] - odd / (2.0 * n);
        squares += off * off;
    }
    found.anderson_darling.value = -n - logs / n;
    found.cramer_von_mises.value = squares + 1.0 / (12.0 * n);
    found.anderson_darling.p = anderson_darling_p(found.anderson_darling.value, shape);
    found.cramer_von_mises.p = cramer_von_mises_p(found.cramer_von_mises.value, shape);
    return found;
}

}  // namespace sim
