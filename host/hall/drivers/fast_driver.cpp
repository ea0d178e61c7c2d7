#include "hall/drivers/fast_driver.hpp"

#include <algorithm>

namespace breakstep {

FastDriver::FastDriver(const EngineSettings& settings, SimulatedTarget& target, Journal& journal, VirtualCues& cues,
                       CaptureWriter* capture, HostTime begin)
    : target_(target),
      cues_(cues),
      now_(begin),
      core_(settings, journal, cues, capture, [this](const OutFrame& frame) { write(frame); }) {
    core_.on_partner_cue = [this](const PartnerCue& cue) { target_.tell_partner(now_, cue.what); };
    core_.call(PortCall{true, now_}, now_);
}

void FastDriver::write(const OutFrame& frame) {
    if (!plugged_) return;
    core_.sent(frame.id, now_);
    target_.host_bytes(now_, {frame.bytes.data(), frame.size});
}

bool FastDriver::step(HostTime last) {
    std::optional<HostTime> next = target_.next_due();
    const auto earlier = [&next](std::optional<HostTime> other) {
        if (other && (!next || *other < *next)) next = other;
    };
    earlier(core_.engine().next_due());
    earlier(cues_.next_due());
    if (!next || *next > last) return false;
    now_ = std::max(now_, *next);

    target_.due(now_);
    if (target_.plugged() != plugged_) {
        plugged_ = target_.plugged();
        core_.call(PortCall{plugged_, now_}, now_);
    }
    chunk_.clear();
    target_.drain(now_, chunk_);
    if (!chunk_.empty()) core_.call(BytesCall{now_, std::string(chunk_.begin(), chunk_.end())}, now_);
    if (const auto due = core_.engine().next_due(); due && *due <= now_) core_.call(DueCall{now_}, now_);
    cues_.due(now_);
    core_.poll(now_);
    if (cues_.take_shown()) {
        const StageView& view = cues_.last_view();
        target_.screen_leans(now_, leans_on_screen(view));
        target_.screen_follows(now_, view.lure && view.lure->follows);
    }
    return true;
}

bool FastDriver::advance(HostTime last) {
    if (step(last)) return true;
    now_ = std::max(now_, last);
    core_.poll(now_);
    return false;
}

Expected<SessionEnd> FastDriver::run(const SessionBegan& session, const SceneNames& names, Duration longest) {
    const HostTime last = now_ + longest;
    core_.start(session, names, now_);
    while (!core_.session_end() && step(last)) {
    }
    core_.poll(now_);
    if (core_.session_end()) return *core_.session_end();
    // A drill waits for what can't be written; here nobody would put the disk right meanwhile.
    if (const auto trouble = core_.journal_trouble()) return tl::make_unexpected(*trouble);
    return failure(ErrorKind::device,
                   "the drill " + session.drill.name + " did not end within " +
                       std::to_string(std::chrono::duration_cast<std::chrono::minutes>(longest).count()) +
                       " minutes of simulated time",
                   "check that the simulated rig has pads and that its athlete starts sets");
}

void FastDriver::pass(Duration time) {
    const HostTime last = now_ + time;
    while (step(last)) {
    }
    now_ = last;
}

}  // namespace breakstep
