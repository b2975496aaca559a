using System.Text.Json;
using Microsoft.Kiota.Abstractions;
using Microsoft.Kiota.Abstractions.Serialization;

namespace CashEvents.Cash.Hosting;

/// <summary>One command at work: its connection, and how it says what it found.</summary>
internal sealed class Session : IDisposable
{
    private readonly Lazy<Connection> _connection;
    private readonly Lazy<CashEventsClient> _client;

    public Session(Surroundings around, OutputForm form, CancellationToken stop)
    {
        (Around, Form, Stop) = (around, form, stop);
        Figures = new Figures(around.Culture);
        _connection = new Lazy<Connection>(() => Connection.Of(around));
        _client = new Lazy<CashEventsClient>(() => new CashEventsClient(Connection.Address, Connection.Key,
            new CashEventsClientOptions
            {
                Retries = 2,
                ConnectWithin = TimeSpan.FromSeconds(3),
                AnswerWithin = TimeSpan.FromSeconds(20),
                LongestPause = TimeSpan.FromSeconds(10),
                Inner = around.Network(),
                Clock = around.Clock,
            }));
    }

    public Surroundings Around { get; }

    public OutputForm Form { get; }

    public CancellationToken Stop { get; }

    public Figures Figures { get; }

    /// <exception cref="NotDoneException">There is none.</exception>
    public Connection Connection => _connection.Value;

    public CashEventsClient Client => _client.Value;

    /// <summary>Says something to people, beside what was asked for.</summary>
    public void Remark(string says) => Around.Error.WriteLine(says);

    /// <summary>Says what was done: to people in words, to programs as the server's answer.</summary>
    public void Say(string words, string json) => Around.Out.WriteLine(Form == OutputForm.Json ? json : words);

    /// <summary>Reads something and shows it in the form that was asked for.</summary>
    /// <param name="request">What is asked.</param>
    /// <param name="form">The form of the answer.</param>
    /// <param name="say">Its tables, for people, and for programs where the server has no CSV of it.</param>
    /// <param name="serverHasCsv">Whether the server has CSV of it.</param>
    public async Task ShowAsync<T>(RequestInformation request, ParsableFactory<T> form, Func<T, IEnumerable<Sheet>> say,
        bool serverHasCsv = true) where T : IParsable
    {
        if (Form == OutputForm.Csv && serverHasCsv)
        {
            request.UrlTemplate = request.UrlTemplate!.Replace("{+baseurl}/api/", "{+baseurl}/api/csv/",
                StringComparison.Ordinal);
            request.Headers.Remove("Accept");
            request.Headers.Add("Accept", "text/csv");
            await Around.Out.WriteAsync(await TextAsync(request).ConfigureAwait(false)).ConfigureAwait(false);
            return;
        }

        var json = await TextAsync(request).ConfigureAwait(false);
        if (Form == OutputForm.Json)
        {
            await Around.Out.WriteLineAsync(json).ConfigureAwait(false);
            return;
        }

        var answer = await KiotaJsonSerializer.DeserializeAsync(json, form, Stop).ConfigureAwait(false);
        Show(say(answer!));
    }

    /// <summary>Shows tables that were not read from one answer.</summary>
    public void Show(IEnumerable<Sheet> sheets) => Tables.Write(this, [.. sheets]);

    /// <summary>Reads something as it comes.</summary>
    public async Task<string> TextAsync(RequestInformation request)
    {
        using var answer = await Client.SendAsync(request, Stop).ConfigureAwait(false);
        return await answer.Content.ReadAsStringAsync(Stop).ConfigureAwait(false);
    }

    /// <summary>Reads something as JSON.</summary>
    public async Task<JsonElement> JsonAsync(string path)
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, path)
        {
            Headers = { { "Accept", "application/json" } },
        };
        using var answer = await Client.Http.SendAsync(request, Stop).ConfigureAwait(false);
        return JsonElement.Parse(await answer.Content.ReadAsStringAsync(Stop).ConfigureAwait(false));
    }

    public void Dispose()
    {
        if (_client.IsValueCreated)
            _client.Value.Dispose();
    }
}
