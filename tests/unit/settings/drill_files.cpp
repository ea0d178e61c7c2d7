// Drill files: those that come with the program, what a file may say, and how a broken one is told.
#include <unistd.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>

#include <doctest/doctest.h>

#include "core/progress/claims.hpp"
#include "core/random.hpp"
#include "settings/drill_file.hpp"

using namespace breakstep;

namespace {

const std::string good = R"(title = "a drill"
level = "beginner"

[[attack]]
kind = "single"
moment = "drop"
)";

Error error_of(const std::string& text) {
    const auto drill = parse_drill(text, "drill.toml", "drill", Settings{});
    REQUIRE_FALSE(drill.has_value());
    CHECK(drill.error().kind == ErrorKind::bad_input);
    return drill.error();
}

std::string content_of(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines{""};
    for (const char each : text) {
        if (each == '\n')
            lines.emplace_back();
        else
            lines.back() += each;
    }
    return lines;
}

std::vector<Drill> shipped() {
    auto drills = list_drills(Settings{});
    const std::string why = drills ? "" : drills.error().text();
    REQUIRE_MESSAGE(drills.has_value(), why);
    CHECK(drills->unusable.empty());
    return std::move(drills->drills);
}

bool is_range(const LengthRange& range) {
    return range.shortest > Duration{} && range.shortest <= range.mean && range.mean <= range.longest;
}

// What the folds rely on, whatever the file said (drill.hpp, opponent.hpp).
bool is_sane(const Drill& drill) {
    const OpponentSettings& opponent = drill.opponent;
    for (const LengthRange& range : {opponent.lift, opponent.up, opponent.pull_back, opponent.drop, opponent.gap,
                                     opponent.carry, opponent.hands, opponent.feint})
        if (!is_range(range)) return false;
    if (!(opponent.spread >= 0 && opponent.spread <= 1) || !(drill.withheld >= 0 && drill.withheld < 1)) return false;
    if (drill.attacks.empty() || drill.title.empty()) return false;
    bool answered = false;
    for (const AttackChoice& attack : drill.attacks) {
        if (attack.rebounds < 1 || attack.rebounds > 4 || attack.share < 1 || attack.share > 20 || attack.pads > 15)
            return false;
        answered = answered || attack.kind != AttackKind::feint;
    }
    for (const PatternStep& step : drill.pattern)
        if (step.attack < 0 || step.attack >= static_cast<std::int32_t>(drill.attacks.size()) ||
            step.wait <= Duration{})
            return false;
    if ((drill.start == StartKind::pattern) == drill.pattern.empty()) return false;
    if (drill.sets < 1 || drill.sets > 20 || drill.reps < 1 || drill.reps > 60) return false;
    if (drill.wait_cap <= drill.wait_minimum || drill.wait_minimum <= Duration{} || drill.wait_extra < Duration{})
        return false;
    if (drill.test && (drill.start != StartKind::random || opponent.untidy)) return false;
    return answered && (drill.lamps || drill.sound || drill.screen);
}

}  // namespace

TEST_CASE("every shipped drill can be read, and they cover what a coach teaches") {
    const std::vector<Drill> drills = shipped();
    CHECK(drills.size() >= 10);
    std::set<std::string> titles;
    std::set<StartKind> starts;
    std::set<AttackKind> kinds;
    std::set<Moment> moments;
    std::set<Counter> counters;
    int tests = 0;
    for (const Drill& drill : drills) {
        CAPTURE(drill.name);
        CHECK(is_sane(drill));
        titles.insert(drill.title);
        starts.insert(drill.start);
        tests += drill.test ? 1 : 0;
        for (const AttackChoice& attack : drill.attacks) {
            kinds.insert(attack.kind);
            if (attack.kind == AttackKind::feint) continue;
            moments.insert(attack.moment);
            counters.insert(attack.counter);
        }
    }
    CHECK(titles.size() == drills.size());
    CHECK(starts.size() == 9);
    CHECK(kinds.size() == 6);
    CHECK(moments.size() == 3);
    CHECK(counters.size() == 5);
    CHECK(tests == 4);
}

TEST_CASE("drills are listed by the ladder, the easiest step first, the tests last") {
    std::string names;
    for (const Drill& drill : shipped()) names += drill.name + " ";
    CHECK(
        names ==
        "in-and-out leave taking-turns gap-of-a-single-kick gap-between-techniques drop-of-a-single-kick "
        "leave-the-drop the-coachs-pattern the-drop-narrows against-mixed feints-for-juniors call-it feints "
        "around-the-held-leg rebounds "
        "step-off legs-into-hands own-legs-into-hands against-busy-front-leg against-linker against-patient "
        "change-of-pace drawing-the-attack hand-hidden hand-shown lift-drawn lift-of-a-pattern meeting-the-lift "
        "open-door show-and-go two-back "
        "against-rusher "
        "against-follower counter-to-the-counter edge first-or-after hunted lure linked-techniques "
        "untidy-beginner coach-taps free-exchange partner-kicks who-makes-whom-go test-drop test-drop-juniors test-gap "
        "test-gap-juniors ");
}

TEST_CASE("every shipped drill tells the coach work to rest and the cautions") {
    for (const Drill& drill : shipped()) {
        CAPTURE(drill.name);
        const std::string text = content_of(config_folder() / "drills" / (drill.name + ".toml"));
        CHECK(text.starts_with("# "));
        CHECK(text.find("# Work to rest: ") != std::string::npos);
        // Wrapped lines are one text.
        std::string flowing;
        for (const std::string& line : lines_of(text)) flowing += line.starts_with("# ") ? line.substr(2) + " " : line;
        for (const char* caution : {"Juniors: 6 to 10 reps", "at most 4 sets", "knock to the head ends the session"})
            CHECK(flowing.find(caution) != std::string::npos);
    }
}

TEST_CASE("a test drill asks to be run as often as progress can tell anything from") {
    std::size_t tests = 0;
    for (const Drill& drill : shipped()) {
        if (!drill.test) continue;
        CAPTURE(drill.name);
        ++tests;
        // Once a week: a term of ten weeks holds more evenings than a claim needs, three times a term do not.
        CHECK(drill.whom.find("once a week") != std::string::npos);
        const std::string text = content_of(config_folder() / "drills" / (drill.name + ".toml"));
        CHECK(text.find("six evenings") != std::string::npos);
        CHECK(progress::fewest_evenings == 6);
    }
    CHECK(tests == 4);
}

TEST_CASE("a drill file says what it asks for, in every key") {
    const auto drill = parse_drill(R"(title = "Everything"
ladder = 6
level = "advanced"
start = "pattern"
stance = "open"
lead_sides = "both"
sets = 3
reps = 11
rest_s = 61.5
wait_minimum_s = 1.3
wait_extra_s = 1.6
wait_cap_s = 6
lead_ms = 90
lamps = true
sound = false
screen = false

[[attack]]
kind = "rebound"
rebounds = 4
share = 20
moment = "gap"
counter = "spin"
pads = ["low right", "high left"]

[[attack]]
kind = "feint"

[[step]]
attack = 2
wait_s = 1.25

[[step]]

[opponent]
lift_ms = [101.5, 90, 120]
spread = 0.05
)",
                                   "drill.toml", "everything", Settings{});
    const std::string why = drill ? "" : drill.error().text();
    REQUIRE_MESSAGE(drill.has_value(), why);
    Drill expected;
    expected.name = "everything";
    expected.title = "Everything";
    expected.level = Level::advanced;
    expected.start = StartKind::pattern;
    expected.stance = Stance::open;
    expected.lead_sides = LeadSides::both;
    expected.sets = 3;
    expected.reps = 11;
    expected.rest = 61'500ms;
    expected.wait_minimum = 1300ms;
    expected.wait_extra = 1600ms;
    expected.wait_cap = 6s;
    expected.lead = 90ms;
    expected.sound = expected.screen = false;
    const auto pads = static_cast<PadSet>(pad_bit(PadRole::low_right) | pad_bit(PadRole::high_left));
    expected.attacks = {{AttackKind::rebound, 4, 20, Moment::gap, Counter::spin, pads}, {}};
    expected.attacks[1].kind = AttackKind::feint;
    expected.pattern = {{1, 1250ms}, {0, 1500ms}};
    expected.opponent = opponent_defaults(Level::advanced);
    expected.opponent.lift = {101'500us, 90ms, 120ms};
    expected.opponent.spread = 0.05;
    CHECK(*drill == expected);
}

TEST_CASE("training drills follow the settings' opponents, tests never do") {
    Settings settings;
    settings.opponents[0].lift = {50ms, 40ms, 60ms};
    const auto training = parse_drill(good, "drill.toml", "drill", settings);
    const auto test = parse_drill("test = true\n" + good, "drill.toml", "drill", settings);
    REQUIRE(training.has_value());
    REQUIRE(test.has_value());
    CHECK(training->opponent.lift.mean == 50ms);
    CHECK(test->opponent == opponent_defaults(Level::beginner));
}

TEST_CASE("what is wrong in a drill file is told with file, line, key and what is allowed") {
    struct Case {
        std::string text;
        const char *what, *to_do;
    };
    const std::string attack = "title = \"x\"\n[[attack]]\n";
    for (const Case& wrong : {
             Case{"titel = \"x\"\n" + good, "drill.toml, line 1: titel", "did you mean title?"},
             Case{"reps = 0\n" + good, "line 1: reps is 0", "1 to 60"},
             Case{"sets = 21\n" + good, "line 1: sets is 21", "1 to 20"},
             Case{"rest_s = 0.5\n" + good, "line 1: rest_s is 0.5", "1 to 600"},
             Case{"ladder = 10\n" + good, "line 1: ladder is 10", "1 to 9"},
             Case{"start = \"randon\"\n" + good, "line 1: start is \"randon\"", "did you mean \"random\"?"},
             Case{attack + "kind = \"jump\"\n", "line 3: attack.kind is \"jump\"", "\"rebound\""},
             Case{attack + "kind = \"single\"\nmoment = \"up\"\n", "line 4: attack.moment is \"up\"",
                  "\"lift\", \"gap\", \"drop\""},
             Case{attack + "kind = \"single\"\npads = [\"high\"]\n", "line 4: attack.pads has \"high\"",
                  "\"high left\""},
             Case{attack + "kind = \"single\"\npads = [\"low left\", \"low left\"]\n", "in it twice", "once"},
             Case{attack + "moment = \"drop\"\n", "line 2: attack.kind is missing", "kind = \"single\""},
             Case{attack + "kind = \"feint\"\n", "has feints only", "to be answered"},
             Case{attack + "kind = \"single\"\n[[attack]]\nkind = \"feint\"\nmoment = \"drop\"\n",
                  "line 6: attack.moment makes no sense", "held back"},
             Case{attack + "kind = \"single\"\n[[attack]]\nkind = \"feint\"\npads = [\"low left\"]\n",
                  "line 6: attack.pads makes no sense", "held back"},
             Case{attack + "kind = \"single\"\nrebounds = 2\n", "line 4: attack.rebounds belongs", "rebound"},
             Case{attack + "kind = \"rebound\"\nrebounds = 5\n", "line 4: attack.rebounds is 5", "1 to 4"},
             Case{"title = \"x\"\n", "attack is missing", "[[attack]]"},
             Case{"title = \"x\"\nattack = 3\n", "line 2: attack is no list of tables", "[[attack]]"},
             Case{"start = \"pattern\"\n" + good, "line 1: start is \"pattern\", but there are no steps", "[[step]]"},
             Case{good + "[[step]]\n", "line 7: step is only used by start = \"pattern\"", "change start"},
             Case{"start = \"pattern\"\n" + good + "[[step]]\nattack = 2\n", "line 9: step.attack is 2", "1 to 1"},
             Case{"wait_cap_s = 1\n" + good, "line 1: wait_cap_s is not above", "catch trial"},
             Case{"wait_extra_s = 5\n" + good, "line 1: wait_extra_s would make 47 of 100", "at most 33"},
             Case{"withheld = 0.5\n" + good, "line 1: withheld is only used by start = \"drawn\"", "change start"},
             Case{"test = true\nstart = \"drawn\"\n" + good, "line 1: test needs start", "random"},
             Case{"test = true\nwait_extra_s = 0\n" + good, "line 1: test needs random waits", "wait_extra_s"},
             Case{"test = true\n" + good + "[opponent]\nuntidy = true\n", "line 1: test can't have an untidy",
                  "untidy"},
             Case{"lamps = false\nsound = false\nscreen = false\n" + good, "nothing would cue", "turn one of them on"},
             Case{good + "[opponent]\nlift_ms = [100, 200, 300]\n", "line 8: opponent.lift_ms is [100, 200, 300]",
                  "[mean, shortest, longest]"},
             Case{"[[attack]]\nkind = \"single\"\n", "line 1: title is missing", "what the drill practises"},
             Case{"title = \"x\n" + good, "drill.toml, line 1: ", "mend that line"},
             Case{std::string(5000, '['), "drill.toml, line 1: ", "mend that line"},
         }) {
        CAPTURE(wrong.text);
        const Error error = error_of(wrong.text);
        CAPTURE(error.text());
        CHECK(error.what.find(wrong.what) != std::string::npos);
        CHECK(error.to_do.find(wrong.to_do) != std::string::npos);
    }
}

TEST_CASE("a name that is no drill is told with the nearest and all there are") {
    const auto drill = load_drill("drop-of-a-singel-kick", Settings{});
    REQUIRE_FALSE(drill.has_value());
    CHECK(drill.error().kind == ErrorKind::not_found);
    CHECK(drill.error().to_do.find("did you mean drop-of-a-single-kick?") != std::string::npos);
    CHECK(drill.error().to_do.find("hunted") != std::string::npos);
    CHECK(load_drill("no/such.toml", Settings{}).error().kind == ErrorKind::not_found);
    CHECK(load_drill("nosuch.toml", Settings{}).error().kind == ErrorKind::not_found);
    CHECK(load_drill("/tmp/", Settings{}).error().kind == ErrorKind::bad_input);
}

TEST_CASE("tables that are nested without end, long keys and megabytes are refused, and cost no stack") {
    std::string dotted = "a";
    for (int i = 0; i < 50'000; ++i) dotted += ".a";
    std::string lists(100'000, '['), inlined;
    for (int i = 0; i < 50'000; ++i) inlined += "a={";
    const std::string long_key(100'000, 'k');
    for (const std::string& text :
         {dotted + " = 1\n", "[" + dotted + "]\n", "a = " + lists + "\n", inlined + "\n", long_key + " = 1\n",
          "\"" + long_key + "\" = 1\n", std::string("a . a . a . a . a . a . a . a . a = 1\n")}) {
        const auto drill = parse_drill(text, "x.toml", "x", Settings{});
        REQUIRE_FALSE(drill.has_value());
        CHECK(drill.error().kind == ErrorKind::bad_input);
    }
    // Numbers, dates and texts may have points.
    CHECK(parse_drill(std::string(good) + "# a.b.c.d.e.f.g.h.i.j = [[[[[[[[[[[[[[[[[[[[\n", "x.toml", "x", Settings{})
              .has_value());
}

TEST_CASE("a coach's own drills are found by name, and go before those of the program") {
    namespace fs = std::filesystem;
    std::string folder = (fs::temp_directory_path() / "breakstep-own-XXXXXX").string();
    REQUIRE(::mkdtemp(folder.data()) != nullptr);
    fs::create_directories(fs::path(folder) / "breakstep" / "drills");
    std::ofstream(fs::path(folder) / "breakstep" / "drills" / "hunted.toml") << good;
    std::ofstream(fs::path(folder) / "breakstep" / "drills" / "Derby Week_2.toml") << good;
    std::ofstream(fs::path(folder) / "breakstep" / "drills" / "wrong.toml") << "title = 3\n";
    fs::create_directory(fs::path(folder) / "breakstep" / "drills" / "folder.toml");
    ::setenv("XDG_CONFIG_HOME", folder.c_str(), 1);
    const auto own = load_drill("hunted", Settings{});
    const auto odd = load_drill("derby-week-2", Settings{});
    const auto as_typed = load_drill("Derby Week_2", Settings{});
    const auto shipped_one = load_drill("taking-turns", Settings{});
    const auto all = list_drills(Settings{});
    ::unsetenv("XDG_CONFIG_HOME");
    fs::remove_all(folder);
    REQUIRE(own.has_value());
    CHECK(own->title == "a drill");
    REQUIRE(odd.has_value());
    CHECK(odd->name == "derby-week-2");
    CHECK(as_typed.has_value());
    CHECK(shipped_one.has_value());
    REQUIRE(all.has_value());
    CHECK(all->drills.size() == shipped().size() + 1);
    // One wrong file stops none of the others, and is named.
    REQUIRE(all->unusable.size() == 2);
    CHECK(all->unusable[1].what.find("wrong.toml") != std::string::npos);
}

TEST_CASE("each shipped drill with one line broken is an error with its line, or still a drill, never a crash") {
    // What can go wrong with a line while a coach edits it, with % for its key and $ for its value.
    const char* const breakages[] = {"= =",
                                     "no equals sign",
                                     "[",
                                     "x = \"",
                                     "\xff\xfe",
                                     "% = 1e99",
                                     "",
                                     "% = -1",
                                     "% = \"\"",
                                     "% = nan",
                                     "% = [1, 2, 3]",
                                     "% = true",
                                     "% = $ $",
                                     "% = 2024-09-30",
                                     "%x = $",
                                     "[[%]]",
                                     "[%]",
                                     "% = {a = 1}",
                                     "% = $\n% = $",
                                     "% = 99999999999999999999",
                                     "% = \"\\u0000\"",
                                     "[[attack]]",
                                     "[opponent]"};
    int errors = 0, drills_left = 0;
    for (const Drill& drill : shipped()) {
        const auto lines = lines_of(content_of(config_folder() / "drills" / (drill.name + ".toml")));
        for (std::size_t i = 0; i < lines.size(); ++i)
            for (const char* const breakage : breakages) {
                const std::size_t equals = lines[i].find(" = ");
                const std::string key = equals == std::string::npos ? "title" : lines[i].substr(0, equals);
                const std::string value = equals == std::string::npos ? "1" : lines[i].substr(equals + 3);
                std::string broken;
                for (const char* at = breakage; *at != '\0'; ++at)
                    broken += *at == '%' ? key : *at == '$' ? value : std::string(1, *at);
                std::string text;
                for (std::size_t k = 0; k < lines.size(); ++k) text += (k == i ? broken : lines[k]) + "\n";
                const auto read = parse_drill(text, "broken.toml", "broken", Settings{});
                CAPTURE(text);
                if (read) {
                    ++drills_left;
                    CHECK(is_sane(*read));
                    continue;
                }
                ++errors;
                const int line = std::atoi(read.error().what.substr(std::string("broken.toml, line ").size()).c_str());
                CHECK(read.error().what.starts_with("broken.toml, line "));
                CHECK(line >= 1);
                CHECK(line <= static_cast<int>(lines.size()) + 2);
                CHECK_FALSE(read.error().to_do.empty());
            }
    }
    CHECK(errors > 4000);
    CHECK(drills_left > 100);
}

TEST_CASE(
    "shipped drills with bytes changed by chance are errors with file and line, or drills the folds can rely on") {
    Random random(20240930);
    int errors = 0;
    for (const Drill& drill : shipped()) {
        const std::string whole = content_of(config_folder() / "drills" / (drill.name + ".toml"));
        for (int round = 0; round < 400; ++round) {
            std::string text = whole;
            for (std::uint32_t change = 0; change <= random.below(4); ++change) {
                const std::size_t at = random.below(static_cast<std::uint32_t>(text.size()));
                switch (random.below(3)) {
                    case 0:
                        text[at] = static_cast<char>(random.below(256));
                        break;
                    case 1:
                        text.erase(at, 1 + random.below(12));
                        break;
                    default:
                        text.insert(at, whole, random.below(static_cast<std::uint32_t>(whole.size())),
                                    random.below(20));
                }
            }
            const auto read = parse_drill(text, "broken.toml", "broken", Settings{});
            CAPTURE(text);
            if (read) {
                CHECK(is_sane(*read));
            } else {
                ++errors;
                CHECK(read.error().what.starts_with("broken.toml, line "));
                CHECK_FALSE(read.error().to_do.empty());
            }
        }
    }
    CHECK(errors > 1000);
}
