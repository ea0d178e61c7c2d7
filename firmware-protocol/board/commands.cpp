#include "commands.hpp"

#include <optional>
#include <sstream>

namespace board {
namespace {

std::optional<std::uint64_t> read_cycle(std::istringstream& words, std::uint64_t now) {
    std::string word;
    if (!(words >> word)) return std::nullopt;
    const bool from_now = word.front() == '+';
    const std::string digits = from_now ? word.substr(1) : word;
    if (digits.empty() || digits.size() > 18 || digits.find_first_not_of("0123456789") != std::string::npos)
        return std::nullopt;
    return std::stoull(digits) + (from_now ? now : 0);
}

std::optional<Input> read_input(const std::string& name) {
    static constexpr const char* names[] = {"gate0", "gate1", "gate2", "gate3", "gate4", "gate5", "sync", "solo"};
    for (std::size_t i = 0; i < std::size(names); ++i) {
        if (name == names[i]) return static_cast<Input>(i);
    }
    return std::nullopt;
}

bool obey_pin(Controller& controller, std::uint64_t at, std::istringstream& words) {
    std::string name;
    int level = -1;
    words >> name >> level;
    const std::optional<Input> input = read_input(name);
    if (!words || !input || (level != 0 && level != 1)) return false;
    controller.pin(at, *input, level == 1);
    return true;
}

bool obey_strike(Controller& controller, std::uint64_t at, std::istringstream& words) {
    std::size_t pad = pad_count;
    Blow blow;
    blow.at = at;
    words >> pad >> blow.peak >> blow.rise >> blow.fall;
    if (!words || pad >= pad_count || blow.peak <= 0 || blow.rise < 1 || blow.fall < 1) return false;
    controller.strike(pad, blow);
    return true;
}

bool obey_bytes(Controller& controller, std::uint64_t at, std::istringstream& words) {
    unsigned value = 0;
    while (words >> std::hex >> value) {
        if (value > 0xFF) return false;
        controller.byte(at, static_cast<std::uint8_t>(value));
    }
    return words.eof();
}

bool obey_level(Controller& controller, std::uint64_t at, std::istringstream& words, bool rest) {
    std::size_t pad = pad_count;
    unsigned level = 0;
    words >> pad >> level;
    if (!words || pad >= pad_count || level > 1023) return false;
    if (rest) {
        controller.rest(at, pad, level);
    } else {
        controller.noise(at, pad, level);
    }
    return true;
}

}  // namespace

Understood Commands::obey(const std::string& line, bool may_drive) {
    std::istringstream words(line);
    std::string command;
    if (!(words >> command) || command.front() == '#') return Understood::yes;
    if (command == "quit") return Understood::quit;
    const std::optional<std::uint64_t> at = read_cycle(words, controller_.cycle());
    if (!at) return Understood::no;
    const auto answer = [](bool understood) { return understood ? Understood::yes : Understood::no; };
    if (command == "pin") return answer(obey_pin(controller_, *at, words));
    if (command == "strike") return answer(obey_strike(controller_, *at, words));
    if (command == "rest") return answer(obey_level(controller_, *at, words, true));
    if (command == "noise") return answer(obey_level(controller_, *at, words, false));
    if (command == "bytes" && may_drive) return answer(obey_bytes(controller_, *at, words));
    if (command == "reset") {
        controller_.reset(*at);
        return Understood::yes;
    }
    if (command == "hang") {
        controller_.hang(*at);
        return Understood::yes;
    }
    if (command == "run" && may_drive) {
        run_until_ = *at;
        return Understood::run;
    }
    return Understood::no;
}

void tell(Controller& controller, std::FILE* out) {
    static constexpr const char* causes[] = {"power", "reset", "watchdog"};
    for (const Boot& boot : controller.take_boots()) {
        std::fprintf(out, "booted %llu %llu %s\n", static_cast<unsigned long long>(boot.cycle),
                     static_cast<unsigned long long>(boot.clock_zero), causes[static_cast<int>(boot.cause)]);
    }
    for (const LampChange& change : controller.take_lamps()) {
        std::fprintf(out, "lamps %llu %u\n", static_cast<unsigned long long>(change.cycle), unsigned{change.lit});
    }
}

void tell_sent(Controller& controller, std::FILE* out) {
    const std::vector<SentByte> sent = controller.take_sent();
    if (sent.empty()) return;
    std::fputs("sent", out);
    for (const SentByte& byte : sent) {
        std::fprintf(out, " %llu:%02x", static_cast<unsigned long long>(byte.cycle), unsigned{byte.value});
    }
    std::fputc('\n', out);
}

}  // namespace board
