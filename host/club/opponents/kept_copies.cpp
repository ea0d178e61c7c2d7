#include "club/opponents/kept_copies.hpp"

#include <algorithm>

#include "club/opponents/copied_opponent.hpp"
#include "settings/countering_keys.hpp"

namespace breakstep {

std::vector<KeptCopy> kept_copies() {
    std::vector<KeptCopy> copies;
    std::error_code ignored;
    for (const auto& entry : std::filesystem::directory_iterator(opponent_folders().front(), ignored))
        if (entry.is_regular_file(ignored))
            if (const auto partner = copied_from(entry.path()))
                copies.push_back(
                    {entry.path(), entry.path().stem().string(), AthleteId{*partner}, yes_of_copy_ends(entry.path())});
    std::sort(copies.begin(), copies.end(),
              [](const KeptCopy& a, const KeptCopy& b) { return a.opponent < b.opponent; });
    return copies;
}

Expected<std::vector<KeptCopy>> delete_copies(const std::function<bool(const KeptCopy&)>& gone) {
    std::vector<KeptCopy> deleted;
    for (const KeptCopy& copy : kept_copies()) {
        if (!gone(copy)) continue;
        std::error_code problem;
        std::filesystem::remove(copy.path, problem);
        if (problem)
            return failure(ErrorKind::system,
                           "the copy " + copy.path.string() + " can't be deleted: " + problem.message(),
                           "look at who may write into its folder, then delete it by hand");
        deleted.push_back(copy);
    }
    return deleted;
}

Expected<std::vector<KeptCopy>> delete_copies_without_consent(
    const std::vector<Athlete>& athletes, std::string_view today,
    const std::function<bool(const std::string& call_sign)>& nobody) {
    return delete_copies([&](const KeptCopy& copy) {
        if (!copy.until.empty() && copy.until < today) return true;
        const auto partner = std::find_if(athletes.begin(), athletes.end(),
                                          [&](const Athlete& each) { return each.id == copy.partner; });
        return partner != athletes.end() && !agrees_to_a_copy(*partner, today, nobody(partner->call_sign));
    });
}

}  // namespace breakstep
