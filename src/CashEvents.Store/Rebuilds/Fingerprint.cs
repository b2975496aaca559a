using System.Buffers;
using System.Buffers.Text;
using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using CashEvents.Domain.Books;
using CashEvents.Store.Books;
using CashEvents.Store.Lines;
using Npgsql;

namespace CashEvents.Store.Rebuilds;

/// <summary>
/// A short stand-in for the rows of a range of lines: SHA-256 over their fields as text, between separators that no text has. PostgreSQL makes it of what is
/// kept and this of what the lines give, so that rows go over the wire only where the two differ.
/// </summary>
internal sealed class Fingerprint : IDisposable
{
    private const int Handful = 16 * 1024;
    private const byte AfterField = 31;
    private const byte AfterRow = 30;

    private const string F = "chr(31)";
    private const string R = "chr(30)";

    // concat takes what is missing for an empty word, which no field that may be missing is.
    private const string OfKept = $"""
        select (select encode(sha256(convert_to(coalesce(string_agg(l.fields, {R}), '') || {R}, 'UTF8')), 'hex') from (
                select concat(line, {F}, kind, {F}, written_by, {F}, occurred_on, {F}, corrects, {F}) as fields
                from {BookTables.Schema}.line where tenant_id = $1 and line > $2 and line <= $3 order by line) l),
            (select encode(sha256(convert_to(coalesce(string_agg(t.fields, {R}), '') || {R}, 'UTF8')), 'hex') from (
                select concat(compartment, {F}, line, {F}, leg, {F}, kind, {F}, holding, {F}, amount, {F}, occurred_on, {F}, description, {F}) as fields
                from {BookTables.Schema}.tracker_row where tenant_id = $1 and line > $2 and line <= $3 order by line, leg, compartment collate "C") t)
        """;

    private readonly IncrementalHash _hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
    private readonly ArrayBufferWriter<byte> _text = new(Handful);
    private readonly byte[] _dayText = new byte[10];
    private DateOnly? _day;

    /// <summary>Of the rows that are kept of a range of lines.</summary>
    public static async Task<(string Lines, string Sheets)> OfKeptAsync(NpgsqlConnection connection, string household, long after, long upTo, CancellationToken cancellation)
    {
        await using var command = new NpgsqlCommand(OfKept, connection)
        { CommandTimeout = 0, Parameters = { new() { Value = household }, new() { Value = after }, new() { Value = upTo } } };
        await using var reader = await command.ExecuteReaderAsync(cancellation).ConfigureAwait(false);
        await reader.ReadAsync(cancellation).ConfigureAwait(false);
        return (reader.GetString(0), reader.GetString(1));
    }

    /// <summary>Of the rows that some lines give.</summary>
    public static (string Lines, string Sheets) Of(IReadOnlyList<BookLine> lines)
    {
        using var ofLines = new Fingerprint();
        using var ofSheets = new Fingerprint();
        foreach (var line in lines)
        {
            ofLines.Add(line);
            // In the order of line, leg and compartment: what moves nothing may be about several compartments.
            var rows = SheetRow.Of(line.Number, line.Event);
            foreach (var row in line.Event is IMovement ? rows : rows.OrderBy(r => r.Compartment, StringComparer.Ordinal))
            {
                ofSheets.Add(row);
            }
        }

        return (ofLines.End(), ofSheets.End());
    }

    public void Dispose() => _hash.Dispose();

    private void Add(BookLine line)
    {
        Begin();
        Field(line.Number);
        Field(line.Kind);
        Field(line.By);
        Field((line.Event as IDatedEvent)?.OccurredOn);
        Field((line.Event as IMovement)?.Corrects?.Line);
    }

    private void Add(SheetRow row)
    {
        Begin();
        Field(row.Compartment);
        Field(row.Line);
        Field(row.Leg);
        Field(row.Kind);
        Field(row.Holding);
        Field(row.Amount);
        Field(row.OccurredOn);
        Field(row.Description);
    }

    // A separator stands between rows, and one at the end.
    private bool _begun;

    private void Begin()
    {
        if (_begun)
        {
            Sign(AfterRow);
        }

        _begun = true;
        if (_text.FreeCapacity < Handful / 4)
        {
            _hash.AppendData(_text.WrittenSpan);
            _text.ResetWrittenCount();
        }
    }

    [SuppressMessage("Globalization", "CA1308:Normalize strings to uppercase", Justification = "PostgreSQL writes hexadecimal small.")]
    private string End()
    {
        Sign(AfterRow);
        _hash.AppendData(_text.WrittenSpan);
        return Convert.ToHexString(_hash.GetHashAndReset()).ToLowerInvariant();
    }

    private void Field(long? number)
    {
        if (number is { } written)
        {
            Utf8Formatter.TryFormat(written, _text.GetSpan(20), out var length);
            _text.Advance(length);
        }

        Sign(AfterField);
    }

    private void Field(string? words)
    {
        if (words is not null)
        {
            _text.Advance(Encoding.UTF8.GetBytes(words, _text.GetSpan(Encoding.UTF8.GetMaxByteCount(words.Length))));
        }

        Sign(AfterField);
    }

    private void Field(DateOnly? day)
    {
        if (day is { } written)
        {
            // Lines of one day mostly stand together.
            if (written != _day)
            {
                _day = written;
                written.TryFormat(_dayText, out _, "yyyy-MM-dd", CultureInfo.InvariantCulture);
            }

            _dayText.CopyTo(_text.GetSpan(_dayText.Length));
            _text.Advance(_dayText.Length);
        }

        Sign(AfterField);
    }

    private void Sign(byte sign)
    {
        _text.GetSpan(1)[0] = sign;
        _text.Advance(1);
    }
}
