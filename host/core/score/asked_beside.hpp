// What a drill asks beside the strike, read at a rep's close: the way out, the attack line, a second strike, the
// athlete's own call; and what a rung of the ladder takes for done.
//
// Pure functions of a rep's contacts and of what the gates told; the score's thread; can't fail. `AskedBeside` keeps
// the few edges that this needs and no stretch does.
#pragma once

#include <optional>
#include <vector>

#include "core/score/attack.hpp"
#include "core/score/rig_log.hpp"
#include "core/score/score.hpp"

namespace breakstep::scoring {

/// The call that followed an answer, taken out of the contacts: low left early, high on time, low right late. Only who
/// answered has something to call. `over`: the attack's end.
[[nodiscard]] std::optional<Verdict> take_call(std::vector<Contact>& contacts, Duration over);

class AskedBeside {
  public:
    void begin_boot(GateSet gates);
    /// Nothing is known of the time before.
    void forget();
    void near_outward(Duration at);
    void line_broken(Duration at);

    /// Fills followed_up, off_line and out_in_time, as far as they are known by the rep's end; `deadline` of a way out
    /// that the rep's end leaves open.
    void judge(const Drill& drill, const Attack& attack, const std::vector<Contact>& contacts, const Stretch& stretch,
               RepResult& result);
    /// A way out that was left open: what is known of it by now.
    struct Open {
        RepId rep{};
        Duration contact{}, deadline{};
    };
    [[nodiscard]] const std::optional<Open>& open() const { return open_; }
    /// True: out in time; false: too late; nothing: not known yet. Everything before `known` has come.
    [[nodiscard]] std::optional<bool> settled(Duration known) const;
    void drop_open() { open_.reset(); }

  private:
    [[nodiscard]] std::optional<bool> out_of(Duration contact, Duration deadline, Duration known) const;

    std::vector<Duration> outs_, line_;  ///< first breaks of passes
    Duration last_line_break_{};
    bool has_line_ = false, has_near_ = false;
    std::optional<Open> open_;
};

/// What the rung takes for done, from all that is known of the rep; null: as the verdict says.
[[nodiscard]] std::optional<bool> rung_hit(const Asks& asks, const RepResult& result);

/// In and out: between the marks at toe-off, never inside while the leg is up, home again soon after the foot is down.
[[nodiscard]] bool kept_its_range(const Attack& attack, const Stretch& stretch);

}  // namespace breakstep::scoring
