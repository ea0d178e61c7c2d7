#include "core/progress/squad.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "core/error.hpp"
#include "core/progress/distributions.hpp"
#include "core/progress/simplex.hpp"

namespace breakstep::progress {
namespace {

struct Vector2 {
    double a = 0, b = 0;
};

struct Matrix2 {
    double aa = 0, ab = 0, ba = 0, bb = 0;

    [[nodiscard]] double determinant() const { return aa * bb - ab * ba; }
    [[nodiscard]] Matrix2 inverse() const {
        const double d = determinant();
        return {bb / d, -ab / d, -ba / d, aa / d};
    }
    [[nodiscard]] Matrix2 transposed() const { return {aa, ba, ab, bb}; }
};

Matrix2 operator*(const Matrix2& m, const Matrix2& n) {
    return {m.aa * n.aa + m.ab * n.ba, m.aa * n.ab + m.ab * n.bb, m.ba * n.aa + m.bb * n.ba, m.ba * n.ab + m.bb * n.bb};
}
Vector2 operator*(const Matrix2& m, const Vector2& v) { return {m.aa * v.a + m.ab * v.b, m.ba * v.a + m.bb * v.b}; }
Matrix2 operator+(const Matrix2& m, const Matrix2& n) { return {m.aa + n.aa, m.ab + n.ab, m.ba + n.ba, m.bb + n.bb}; }
Matrix2 operator-(const Matrix2& m, const Matrix2& n) { return {m.aa - n.aa, m.ab - n.ab, m.ba - n.ba, m.bb - n.bb}; }
Matrix2 operator*(double factor, const Matrix2& m) {
    return {factor * m.aa, factor * m.ab, factor * m.ba, factor * m.bb};
}
Vector2 operator-(const Vector2& v, const Vector2& w) { return {v.a - w.a, v.b - w.b}; }
double dot(const Vector2& v, const Vector2& w) { return v.a * w.a + v.b * w.b; }
constexpr Matrix2 identity{1, 0, 0, 1};

/// Days are centred and both axes scaled, so that the search meets a round valley; the way back is linear.
struct Axes {
    double middle_day = 0, day_unit = 1, middle_value = 0, value_unit = 1;

    /// (intercept, slope) at day 0 in the caller's units is this times the searched ones.
    [[nodiscard]] Matrix2 back() const {
        return {value_unit, -value_unit * middle_day / day_unit, 0, value_unit / day_unit};
    }
};

/// Weighted sums over one athlete's values: Z'WZ, Z'Wy, y'Wy with rows (1, day) in Z.
struct AthleteSums {
    std::size_t points = 0;
    Matrix2 zz;
    Vector2 zy;
    double yy = 0;
};

/// What the likelihood needs at one L and s_day, and the estimates that go with it.
struct AtParameters {
    double log_determinants = 0;  ///< sum of log |I + L' Z'WZ L|
    Matrix2 information;          ///< X' V^-1 X
    Vector2 fixed;                ///< the squad's intercept and slope
    double squares = 0;           ///< of the residuals, by V^-1
};

/// L M^-1 L' with M = I + L' Z'WZ L.
Matrix2 pulled(const Matrix2& factor, const Matrix2& zz, double* determinant = nullptr) {
    const Matrix2 m = identity + factor.transposed() * zz * factor;
    if (determinant != nullptr) *determinant = m.determinant();
    return factor * m.inverse() * factor.transposed();
}

AtParameters at_parameters(const std::vector<AthleteSums>& sums, const Matrix2& factor) {
    AtParameters result;
    Vector2 right;
    double squares = 0;
    for (const AthleteSums& athlete : sums) {
        double determinant = 1;
        const Matrix2 k = pulled(factor, athlete.zz, &determinant);
        result.log_determinants += std::log(determinant);
        result.information = result.information + (athlete.zz - athlete.zz * k * athlete.zz);
        const Vector2 kzy = k * athlete.zy;
        const Vector2 pulled_right = athlete.zz * kzy;
        right = {right.a + athlete.zy.a - pulled_right.a, right.b + athlete.zy.b - pulled_right.b};
        squares += athlete.yy - dot(athlete.zy, kzy);
    }
    result.fixed = result.information.inverse() * right;
    result.squares = squares - dot(result.fixed, right);
    return result;
}

class Search {
  public:
    Search(std::span<const SquadPoint> points, std::size_t athletes, const Axes& axes)
        : points_(points.begin(), points.end()), axes_(axes), sums_(athletes) {
        for (SquadPoint& point : points_) {
            point.day = (point.day - axes.middle_day) / axes.day_unit;
            point.value = (point.value - axes.middle_value) / axes.value_unit;
            point.sampling_variance /= axes.value_unit * axes.value_unit;
            weighted_ = weighted_ || point.sampling_variance > 0;
        }
        sum_up(1);
    }

    /// L11, L21, L22, and s_day where sampling variances are known. Without them s_day has a closed form, and L is
    /// relative to it.
    [[nodiscard]] std::vector<double> start(double spread) const {
        return weighted_ ? std::vector<double>{spread, 0, spread, 0.7} : std::vector<double>{spread, 0, spread};
    }

    /// -2 log restricted likelihood, in the searched units.
    [[nodiscard]] double criterion(const std::vector<double>& at) {
        if (weighted_) sum_up(at[3] * at[3]);
        const AtParameters found = at_parameters(sums_, factor(at));
        const double free = static_cast<double>(points_.size()) - 2;
        double value =
            found.log_determinants + std::log(found.information.determinant()) + free * std::log(2 * std::numbers::pi);
        value += weighted_ ? found.squares - log_weights_ : free * (1 + std::log(found.squares / free));
        return std::isfinite(value) ? value : std::numeric_limits<double>::infinity();
    }

    [[nodiscard]] SquadFit fit_at(const Least& least);

  private:
    static Matrix2 factor(const std::vector<double>& at) { return {at[0], 0, at[1], at[2]}; }

    void sum_up(double day_variance) {
        // Under a millionth of the scatter's own size s_day is as good as zero; the floor keeps weights finite.
        const double floor = 1e-12;
        for (AthleteSums& athlete : sums_) athlete = {};
        log_weights_ = 0;
        for (const SquadPoint& point : points_) {
            const double w = 1 / (std::max(day_variance, floor) + point.sampling_variance);
            AthleteSums& athlete = sums_[point.athlete];
            ++athlete.points;
            athlete.zz = athlete.zz + w * Matrix2{1, point.day, point.day, point.day * point.day};
            athlete.zy = {athlete.zy.a + w * point.value, athlete.zy.b + w * point.day * point.value};
            athlete.yy += w * point.value * point.value;
            log_weights_ += std::log(w);
        }
    }

    std::vector<SquadPoint> points_;
    Axes axes_;
    std::vector<AthleteSums> sums_;
    double log_weights_ = 0;
    bool weighted_ = false;
};

SquadFit Search::fit_at(const Least& least) {
    if (weighted_) sum_up(least.at[3] * least.at[3]);
    const Matrix2 relative = factor(least.at), back = axes_.back();
    const AtParameters found = at_parameters(sums_, relative);
    const double free = static_cast<double>(points_.size()) - 2;
    const double variance = weighted_ ? 1 : found.squares / free;  // of what the weights leave open
    SquadFit fit;
    fit.points = points_.size();
    fit.athletes = static_cast<std::size_t>(
        std::count_if(sums_.begin(), sums_.end(), [](const AthleteSums& athlete) { return athlete.points > 0; }));
    fit.settled = least.settled;
    fit.criterion = least.value + 2 * std::log(axes_.day_unit) + 2 * free * std::log(axes_.value_unit);
    fit.sd_residual = axes_.value_unit * (weighted_ ? std::abs(least.at[3]) : std::sqrt(variance));
    const double scale = weighted_ ? std::max(std::abs(least.at[3]), 1e-6) : 1;
    fit.singular = std::min(std::abs(least.at[0]), std::abs(least.at[2])) < 1e-4 * scale ||
                   (weighted_ && std::abs(least.at[3]) < 1e-4);

    const Vector2 fixed = back * found.fixed;
    const Matrix2 fixed_searched = variance * found.information.inverse();
    const Matrix2 fixed_error = back * fixed_searched * back.transposed();
    const Matrix2 between = variance * (back * relative * relative.transposed() * back.transposed());
    const double t = student_quantile(0.975, static_cast<double>(fit.athletes - 1));
    fit.intercept = axes_.middle_value + fixed.a;
    fit.intercept_error = std::sqrt(fixed_error.aa);
    fit.slope = fixed.b;
    fit.slope_error = std::sqrt(fixed_error.bb);
    fit.slope_interval = {fit.slope - t * fit.slope_error, fit.slope + t * fit.slope_error};
    fit.sd_intercept = std::sqrt(between.aa);
    fit.sd_slope = std::sqrt(between.bb);
    if (fit.sd_intercept > 0 && fit.sd_slope > 0)
        fit.correlation = std::clamp(between.ab / (fit.sd_intercept * fit.sd_slope), -1.0, 1.0);

    for (const AthleteSums& athlete : sums_) {
        const Matrix2 k = pulled(relative, athlete.zz);
        const Vector2 own = k * (athlete.zy - athlete.zz * found.fixed);
        const Vector2 line = back * Vector2{found.fixed.a + own.a, found.fixed.b + own.b};
        // Henderson's error of prediction: the athlete's own, and what the squad's line adds to it.
        const Matrix2 kept = identity - k * athlete.zz;
        const Matrix2 error = back * (variance * k + kept * fixed_searched * kept.transposed()) * back.transposed();
        AthleteLine shown{athlete.points, axes_.middle_value + line.a, line.b, std::sqrt(error.bb), {}};
        shown.slope_interval = {shown.slope - t * shown.slope_error, shown.slope + t * shown.slope_error};
        fit.lines.push_back(shown);
    }
    return fit;
}

/// Standard deviation of values about each athlete's own straight line; 0 where all lie on theirs.
double scatter_about_own_lines(std::span<const SquadPoint> points, std::size_t athletes) {
    std::vector<std::vector<const SquadPoint*>> by_athlete(athletes);
    for (const SquadPoint& point : points) by_athlete[point.athlete].push_back(&point);
    double squares = 0;
    for (const auto& own : by_athlete) {
        if (own.empty()) continue;
        const auto n = static_cast<double>(own.size());
        double day = 0, value = 0, days = 0, both = 0, values = 0;
        for (const SquadPoint* point : own) {
            day += point->day / n;
            value += point->value / n;
        }
        for (const SquadPoint* point : own) {
            days += (point->day - day) * (point->day - day);
            both += (point->day - day) * (point->value - value);
            values += (point->value - value) * (point->value - value);
        }
        squares += std::max(0.0, values - (days > 0 ? both * both / days : 0));
    }
    return std::sqrt(squares / static_cast<double>(points.size()));
}

std::optional<Axes> axes_of(std::span<const SquadPoint> points) {
    std::vector<double> days, values;
    for (const SquadPoint& point : points) {
        days.push_back(point.day);
        values.push_back(point.value);
    }
    const auto day_unit = standard_deviation(days), value_unit = standard_deviation(values);
    if (!day_unit || !(*day_unit > 0) || !(*value_unit > 0)) return std::nullopt;
    return Axes{*mean(days), *day_unit, *mean(values), *value_unit};
}

}  // namespace

std::optional<SquadFit> fit_squad(std::span<const SquadPoint> points, std::size_t athletes) {
    std::vector<std::size_t> counts(athletes, 0);
    for (const SquadPoint& point : points) {
        if (point.athlete >= athletes || !(point.sampling_variance >= 0))
            broken_invariant("a squad's value of an athlete out of range, or with a variance below zero");
        ++counts[point.athlete];
    }
    const auto present = static_cast<std::size_t>(
        std::count_if(counts.begin(), counts.end(), [](std::size_t count) { return count > 0; }));
    if (present < 3 || points.size() <= 2 * present) return std::nullopt;
    const auto axes = axes_of(points);
    if (!axes || !(scatter_about_own_lines(points, athletes) > 1e-9 * axes->value_unit)) return std::nullopt;

    Search search(points, athletes, *axes);
    const auto criterion = [&](const std::vector<double>& at) { return search.criterion(at); };
    // Two starts: a squad of much the same athletes, and one of very different ones.
    Least least = minimise(criterion, search.start(0.3), 0.2);
    if (Least other = minimise(criterion, search.start(1.5), 0.5); other.value < least.value - 1e-9) least = other;
    // Where a variance tends to nothing, nothing it is.
    for (const std::size_t i : {std::size_t{0}, std::size_t{2}}) {
        std::vector<double> on_border = least.at;
        on_border[i] = 0;
        const double value = criterion(on_border);
        if (std::abs(least.at[i]) < 0.01 && value <= least.value + 1e-9) {
            least.at = on_border;
            least.value = value;
        }
    }
    return search.fit_at(least);
}

}  // namespace breakstep::progress
