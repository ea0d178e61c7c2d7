#include "truth/returning.hpp"

#include <stdexcept>

#include "truth/lock_step.hpp"

namespace breakstep::tests {
namespace {

enum class Going : std::uint8_t { cable, reset, cable_and_power };

class ReturningBench final : public LockStepBench {
  public:
    ReturningBench(const LockStepSettings& settings, Going how, int times)
        : LockStepBench(settings), random_(settings.seed, 53), how_(how), left_(times) {
        wait_extra_ = Duration{};
    }
    ReturnReport run() {
        connect(patience());
        // The set is not to end before the last return: a rep takes a second.
        run_session(CueKind::lamps, left_ * 16 + 10);
        if (how_ == Going::cable) found_.stamps = report().stamps;
        return found_;
    }

  private:
    void on_step() override {
        if (returned_) return watch();
        if (away_until_) {
            if (now_ >= *away_until_) come_back();
            return;
        }
        if (left_ == 0 || !running()) return;
        if (!goes_at_) goes_at_ = now_ + 2s + Duration(static_cast<std::int64_t>(random_.uniform(0, 3e9)));
        if (now_ >= *goes_at_) go();
    }

    void go() {
        goes_at_.reset();
        --left_;
        if (how_ == Going::reset) return come_back();
        pull_cable();
        away_until_ = now_ + 3s;
    }

    void come_back() {
        away_until_.reset();
        if (how_ != Going::cable) reset_board();
        if (how_ != Going::reset) plug_in();
        returned_ = now_;
        bound_.reset();
        greeted_ = how_ == Going::cable;
        lamps_before_ = board_.lamps().size();
    }

    [[nodiscard]] double ms_since_return(HostTime time) const {
        return static_cast<double>((time - *returned_).count()) * 1e-6;
    }

    /// A reset is noticed only when the new boot has told of itself: until then the host's bound is the old boot's.
    void on_record(const JournalRecord& record) override {
        if (returned_ && std::holds_alternative<RigConnected>(record.event)) greeted_ = true;
    }

    /// What was cued before is over by now, or was forgotten with the old boot: a lamp that lights once the bound is
    /// good is a new cue.
    void watch() {
        if (greeted_ && !bound_ && engine_.link().connected() && engine_.link().bound() < 500us) {
            bound_ = now_;
            found_.bound_ms.push_back(ms_since_return(now_));
        }
        for (std::size_t i = lamps_before_; bound_ && i < board_.lamps().size(); ++i) {
            const HostTime lit = time_->time_of(board_.lamps()[i].cycle);
            if (board_.lamps()[i].lit == 0 || lit < *bound_) continue;
            found_.cue_ms.push_back(ms_since_return(lit));
            returned_.reset();
            return;
        }
        if (now_ < *returned_ + patience()) return;
        ++found_.never;
        returned_.reset();
    }

    Random random_;
    Going how_;
    int left_;
    ReturnReport found_;
    std::optional<HostTime> goes_at_, away_until_, returned_, bound_;
    bool greeted_ = false;
    std::size_t lamps_before_ = 0;
};

}  // namespace

void ReturnReport::add(const ReturnReport& other) {
    const auto append = [](auto& to, const auto& from) { to.insert(to.end(), from.begin(), from.end()); };
    append(bound_ms, other.bound_ms);
    append(cue_ms, other.cue_ms);
    never += other.never;
    stamps.lost += other.stamps.lost;
    stamps.doubled += other.stamps.doubled;
    stamps.altered += other.stamps.altered;
    stamps.events += other.stamps.events;
}

ReturnReport run_returning(const LockStepSettings& settings, int times) {
    ReturnReport all;
    LockStepSettings own = settings;
    for (const Going how : {Going::cable, Going::reset, Going::cable_and_power}) {
        own.seed = settings.seed + 500'000 * (1 + static_cast<std::uint64_t>(how));
        const ReturnReport one = ReturningBench(own, how, times).run();
        if (static_cast<int>(one.cue_ms.size()) + one.never != times)
            throw std::runtime_error("a set ended before its rig had come back often enough");
        all.add(one);
    }
    return all;
}

}  // namespace breakstep::tests
