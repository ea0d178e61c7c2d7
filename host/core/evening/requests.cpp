// What the coach, the athletes by the pads and later the desk ask for, and the answer.
#include <algorithm>
#include <charconv>

#include "core/evening/evening.hpp"

namespace breakstep::evening {
namespace {

constexpr Answer taken{AnswerKind::taken, Why::none};
Answer refused(Why why) { return {AnswerKind::refused, why}; }
Answer too_late(Why why) { return {AnswerKind::too_late, why}; }

Answer for_skip(const State& state) {
    if (state.rig == AtRig::called) return taken;
    return state.rig == AtRig::running ? too_late(Why::set_runs) : refused(Why::no_turn);
}

Answer for_someone_else(const State& state, const Request& request) {
    const Person* other = state.find(request.athlete);
    if (other == nullptr || !other->here) return refused(Why::not_here);
    if (state.rig == AtRig::called || state.rig == AtRig::running)
        return request.athlete == state.made_by.value_or(state.at_rig) ? refused(Why::is_called) : taken;
    if (!state.last_set) return refused(Why::no_set);
    return state.last_set->by == request.athlete ? refused(Why::is_called) : taken;
}

Answer for_comes_back(const State& state, const Request& request) {
    const Person* one = state.find(request.athlete);
    if (one == nullptr) return refused(Why::not_here);
    return one->here && !one->sore && !one->passed_over ? refused(Why::is_here) : taken;
}

Answer for_sore(const State& state, const Request& request) {
    if (request.athlete == AthleteId{}) return state.rig == AtRig::nobody ? refused(Why::no_turn) : taken;
    return state.find(request.athlete) == nullptr ? refused(Why::not_here) : taken;
}

Answer for_drill(const State& state, const Request& request, bool known) {
    const Person* one = state.find(request.athlete);
    if (one == nullptr || !one->here) return refused(Why::not_here);
    if (!known) return refused(Why::no_such_drill);
    if (one_drill_for_all(state))
        return own_drills_follow(state) ? Answer{AnswerKind::taken, Why::one_for_all} : refused(Why::one_for_all);
    const bool busy = state.rig == AtRig::running || state.rig == AtRig::leaving;
    return busy && state.at_rig == request.athlete ? too_late(Why::set_runs) : taken;
}

Answer for_tap(const State& state, bool can_be) {
    if (state.rig != AtRig::running) return refused(Why::no_turn);
    return can_be ? taken : refused(Why::not_tapped);
}

Answer for_minutes(const State& state, const Request& request) {
    const auto wanted = block_minutes_in(request.text);
    if (!wanted || wanted->block >= state.began.blocks.size()) return refused(Why::no_such_block);
    return static_cast<std::int32_t>(wanted->block) < state.block ? too_late(Why::no_such_block) : taken;
}

Answer for_partner(const State& state, Possible possible) {
    if (state.rig != AtRig::called && state.rig != AtRig::running) return refused(Why::no_turn);
    return possible.partner == Why::none ? taken : refused(possible.partner);
}

Answer answer_to(const State& state, const Request& request, std::optional<bool> last_void, Possible possible) {
    if (state.over) return refused(Why::over);
    switch (request.what) {
        case Ask::next:
        case Ask::end:
            return taken;
        case Ask::note:
            return request.text.empty() ? refused(Why::no_words) : taken;
        case Ask::drill:
            return for_drill(state, request, possible.drill);
        case Ask::tap:
            return for_tap(state, possible.tap);
        case Ask::partner_next:
            return for_partner(state, possible);
        case Ask::minutes:
            return for_minutes(state, request);
        case Ask::skip:
            return for_skip(state);
        case Ask::comes_back:
            return for_comes_back(state, request);
        case Ask::someone_else:
            return for_someone_else(state, request);
        case Ask::pause:
            return state.paused ? refused(Why::paused_already) : taken;
        case Ask::go_on:
            return state.paused ? taken : refused(Why::not_paused);
        case Ask::void_last:
            return !last_void ? refused(Why::no_rep) : *last_void ? refused(Why::void_so) : taken;
        case Ask::take_back:
            return !last_void ? refused(Why::no_rep) : *last_void ? taken : refused(Why::not_void);
        case Ask::repeat:
            return state.last_set ? taken : refused(Why::no_set);
        case Ask::sore:
            return for_sore(state, request);
    }
    return refused(Why::none);
}

}  // namespace

Reply ask(const State& state, const Request& request, Hand hand, EveningTime, std::optional<bool> last_void,
          Possible possible) {
    Reply reply{answer_to(state, request, last_void, possible), {}};
    auto& commands = reply.commands;
    commands.emplace_back(Record{Asked{request, hand, reply.answer}});
    if (reply.answer.kind != AnswerKind::taken) return reply;
    const AthleteId sore = request.athlete == AthleteId{} ? state.at_rig : request.athlete;
    switch (request.what) {
        case Ask::pause:
        case Ask::go_on:
            if (state.rig == AtRig::running || state.rig == AtRig::called)
                commands.emplace_back(Pause{request.what == Ask::pause});
            break;
        case Ask::void_last:
        case Ask::take_back:
            if (const SessionId in = state.rig == AtRig::running ? state.session
                                     : state.last_set            ? state.last_set->session
                                                                 : state.session;
                in != SessionId{})
                commands.emplace_back(VoidLast{in, request.what == Ask::take_back});
            break;
        case Ask::someone_else:
            // Before the set the right one is called; in it, it is moved at its end; after it, at once.
            if (state.rig == AtRig::called) commands.emplace_back(StandAside{});
            if (state.rig == AtRig::leaving || state.rig == AtRig::nobody)
                commands.emplace_back(
                    Move{state.last_set->session, state.last_set->set, state.last_set->by, request.athlete});
            break;
        case Ask::sore:
            if (sore == state.at_rig && (state.rig == AtRig::running || state.rig == AtRig::called))
                commands.emplace_back(StandAside{});
            break;
        case Ask::end:
            if (state.rig == AtRig::running) commands.emplace_back(StandAside{});
            break;
        case Ask::drill:
            if (reply.answer.why == Why::one_for_all) break;
            if (state.rig == AtRig::called && state.at_rig == request.athlete) commands.emplace_back(StandAside{});
            commands.emplace_back(GiveDose{request.athlete});
            break;
        case Ask::tap:
            commands.emplace_back(TapAttack{});
            break;
        case Ask::partner_next:
            if (auto list = partner_list_in(request.text)) commands.emplace_back(AskPartner{std::move(*list)});
            break;
        case Ask::next:
        case Ask::skip:
        case Ask::comes_back:
        case Ask::repeat:
        case Ask::note:
        case Ask::minutes:
            break;
    }
    return reply;
}

std::optional<BlockMinutes> block_minutes_in(std::string_view text) {
    constexpr std::int64_t blocks_most = 100, minutes_most = 240;
    std::int64_t block = 0, minutes = 0;
    const char* const end = text.data() + text.size();
    const auto first = std::from_chars(text.data(), end, block);
    if (first.ec != std::errc{} || first.ptr == end || *first.ptr != ' ') return std::nullopt;
    const auto second = std::from_chars(first.ptr + 1, end, minutes);
    if (second.ec != std::errc{} || second.ptr != end) return std::nullopt;
    if (block < 1 || block > blocks_most || minutes < 1 || minutes > minutes_most) return std::nullopt;
    return BlockMinutes{static_cast<std::size_t>(block - 1), std::chrono::minutes(minutes)};
}

bool one_drill_for_all(const State& state) {
    const Block* block = state.current();
    return block != nullptr && block->kind == BlockKind::rounds && !block->drill.empty();
}

bool own_drills_follow(const State& state) {
    const auto& blocks = state.began.blocks;
    const auto later = blocks.begin() + std::min<std::ptrdiff_t>(state.block + 1, std::ssize(blocks));
    return std::any_of(later, blocks.end(),
                       [](const Block& each) { return each.kind == BlockKind::rounds && each.drill.empty(); });
}

}  // namespace breakstep::evening
