#include "hall/evening/pass_on.hpp"

namespace breakstep {

void PassOn::take(const PadHit& hit) {
    const bool low = hit.pad == PadRole::low_left || hit.pad == PadRole::low_right;
    if (!low) return clear();
    if (first_ && (!first_->same_boot(hit.at) || hit.at < *first_)) clear();
    const auto last = second_ ? second_ : first_;
    if (last && hit.at - *last < one_blow) return;
    if (last && hit.at - *last <= strikes_within) {
        second_ = hit.at;
        return;
    }
    first_ = hit.at;
    second_.reset();
}

bool PassOn::take(const GateEdge& edge) {
    if (!edge.broken || (edge.gate != GateRole::far_mark && edge.gate != GateRole::back_mark)) return false;
    return second_ && second_->same_boot(edge.at) && edge.at >= *second_ && edge.at - *second_ <= left_within;
}

}  // namespace breakstep
