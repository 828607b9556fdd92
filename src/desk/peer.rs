//! Finds out who is at the other end of a connection. Another user of the same machine is not served, whatever cookie
//! or token the request carries.
//!
//! Browsers send cookies to every port of a machine, so another user's server could receive this desk's cookie. Linux
//! tells which user owns the socket at the other end; on other systems this is not checked.

use std::net::{SocketAddr, SocketAddrV4};

/// The system's tables of IPv4 and IPv6 connections. An IPv6 socket may talk to an IPv4 address.
#[cfg(target_os = "linux")]
const TABLE: &str = "/proc/net/tcp";
#[cfg(target_os = "linux")]
const NEWER_TABLE: &str = "/proc/net/tcp6";

/// Whether the program at the other end of a connection from `from` to `to` belongs to the user who runs the desk. If
/// the system lists no connections, it is assumed to. If the system lists this end but not the other, it is assumed not
/// to.
#[cfg(target_os = "linux")]
pub fn is_of_this_user(from: SocketAddr, to: SocketAddr) -> bool {
    let (SocketAddr::V4(from), SocketAddr::V4(to)) = (from, to) else { return false };
    let Ok(table) = std::fs::read_to_string(TABLE) else { return true };
    let newer = || std::fs::read_to_string(NEWER_TABLE).unwrap_or_default();
    let is_told = |table: &str| owner(table, from, to).or_else(|| owner(&newer(), from, to));
    match is_told(&table) {
        Some(user) => user == rustix::process::geteuid().as_raw(),
        None => owner(&table, to, from).is_none(),
    }
}

/// Always true: this system does not tell whose a connection is.
#[cfg(not(target_os = "linux"))]
pub fn is_of_this_user(_from: SocketAddr, _to: SocketAddr) -> bool {
    true
}

/// The user who owns the socket bound to `from` and connected to `to`. `None` if it is not in the table.
///
/// The columns are those of proc_pid_net(5): number, local address, remote address, state, queues, timer, retransmits,
/// user. An IPv4 address is its four bytes in native byte order, followed by the port, all in hexadecimal. An IPv6
/// address has four such words; one that maps an IPv4 address has it in the last word.
#[cfg(any(target_os = "linux", test))]
fn owner(table: &str, from: SocketAddrV4, to: SocketAddrV4) -> Option<u32> {
    let written = |address: SocketAddrV4| {
        format!("{:08X}:{:04X}", u32::from_ne_bytes(address.ip().octets()), address.port())
    };
    let mapped = format!("{:08X}{:08X}{:08X}", 0, 0, u32::from_ne_bytes([0, 0, 0xff, 0xff]));
    let (from, to) = (written(from), written(to));
    table.lines().skip(1).find_map(|line| {
        let columns: Vec<&str> = line.split_whitespace().collect();
        let is = |column: usize, address: &str| {
            columns.get(column).is_some_and(|it| it.strip_prefix(mapped.as_str()).unwrap_or(it) == address)
        };
        let is_it = is(1, &from) && is(2, &to);
        if is_it { columns.get(7)?.parse().ok() } else { None }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(target_endian = "little")]
    #[test]
    fn the_owner_of_a_socket_is_read_from_the_systems_table() {
        // A table as Linux writes it, with both ends of a connection of 127.0.0.1 from port 43690 to port 48059.
        let table = "  sl  local_address rem_address   st tx_queue rx_queue tr tm->when retrnsmt   uid  timeout inode\n\
                     0: 0100007F:BBBB 00000000:0000 0A 00000000:00000000 00:00000000 00000000     0        0 1 1\n\
                     1: 0100007F:AAAA 0100007F:BBBB 01 00000000:00000000 00:00000000 00000000  1007        0 2 1\n\
                     2: 0100007F:BBBB 0100007F:AAAA 01 00000000:00000000 00:00000000 00000000  1000        0 3 1\n";
        let at = |port| SocketAddrV4::new(std::net::Ipv4Addr::LOCALHOST, port);
        assert_eq!(owner(table, at(0xaaaa), at(0xbbbb)), Some(1007));
        assert_eq!(owner(table, at(0xbbbb), at(0xaaaa)), Some(1000));
        assert_eq!(owner(table, at(0xaaab), at(0xbbbb)), None);
    }

    #[cfg(target_endian = "little")]
    #[test]
    fn an_older_address_is_found_among_the_newer_ones() {
        let table = "  sl  local_address remote_address st\n\
                     0: 0000000000000000FFFF00000100007F:AAAA 0000000000000000FFFF00000100007F:BBBB 01 0:0 0:0 0 1007 0 1\n";
        let at = |port| SocketAddrV4::new(std::net::Ipv4Addr::LOCALHOST, port);
        assert_eq!(owner(table, at(0xaaaa), at(0xbbbb)), Some(1007));
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn a_connection_of_ones_own_is_ones_own() {
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        let client = std::net::TcpStream::connect(listener.local_addr().unwrap()).unwrap();
        let (from, to) = (client.local_addr().unwrap(), client.peer_addr().unwrap());
        assert!(is_of_this_user(from, to));
        let table = std::fs::read_to_string(TABLE).unwrap();
        let (SocketAddr::V4(from), SocketAddr::V4(to)) = (from, to) else { panic!() };
        assert_eq!(owner(&table, from, to), Some(rustix::process::geteuid().as_raw()));
    }
}
