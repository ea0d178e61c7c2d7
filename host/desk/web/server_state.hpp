// The server's insides, shared by its connections. Internal to this folder; the desk's thread's alone but for what says
// otherwise.
#pragma once

#include <utility>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/steady_timer.hpp>

#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "desk/web/server.hpp"

namespace breakstep::desk {

/// Something that lives on a connection.
class Watching {
  public:
    virtual ~Watching() = default;
    /// Something may be new.
    virtual void more() = 0;
    virtual void end() = 0;
};

/// A connection's place among those that may be; given back when it goes.
using Slot = std::shared_ptr<void>;

struct DeskServer::State : std::enable_shared_from_this<DeskServer::State> {
    State(DeskHouse given, const ServerOptions& wanted);

    [[nodiscard]] Expected<void> listen();
    [[nodiscard]] Expected<void> use_certificate(const std::vector<std::string>& addresses);
    void read_phones();
    void keep_phones(const Phones& phones);
    void accept();
    void welcome(boost::asio::ip::tcp::socket socket);
    [[nodiscard]] Slot slot_for(const std::string& address);
    void watch(const std::shared_ptr<Watching>& line);
    void tick();
    [[nodiscard]] std::string digits_told(bool qr);

    const DeskHouse house;
    const ServerOptions options;
    boost::asio::io_context context{1};
    boost::asio::ip::tcp::acceptor acceptor{context};
    boost::asio::ssl::context tls{boost::asio::ssl::context::tls_server};
    boost::asio::steady_timer timer{context};
    std::optional<Desk> desk;
    std::vector<std::weak_ptr<Watching>> lines;
    std::vector<std::weak_ptr<Watching>> connections;
    std::map<std::string, int> from;  ///< connections by address
    int open = 0;
    bool ticking = false, ended = false;
    ServerCounters counters;
    std::function<void(const std::string&)> on_notice;
    std::thread thread;
};

}  // namespace breakstep::desk
