#include "core/progress/distributions.hpp"

#include <boost/math/distributions/binomial.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include "core/error.hpp"

namespace breakstep::progress {
namespace {

void require_share(double share) {
    if (!(share > 0 && share < 1)) broken_invariant("a quantile of a share outside (0, 1) was asked for");
}

void require_degrees(double degrees) {
    if (!(degrees > 0)) broken_invariant("Student's law without degrees of freedom was asked for");
}

}  // namespace

double normal_cumulative(double z) { return boost::math::cdf(boost::math::normal_distribution<double>(), z); }

double normal_quantile(double share) {
    require_share(share);
    return boost::math::quantile(boost::math::normal_distribution<double>(), share);
}

double student_upper(double t, double degrees) {
    require_degrees(degrees);
    return boost::math::cdf(boost::math::complement(boost::math::students_t_distribution<double>(degrees), t));
}

double student_quantile(double share, double degrees) {
    require_share(share);
    require_degrees(degrees);
    return boost::math::quantile(boost::math::students_t_distribution<double>(degrees), share);
}

double fair_coin_cumulative(std::uint64_t successes, std::uint64_t trials) {
    if (successes >= trials) return 1;
    const boost::math::binomial_distribution<double> coins(static_cast<double>(trials), 0.5);
    return boost::math::cdf(coins, static_cast<double>(successes));
}

}  // namespace breakstep::progress
